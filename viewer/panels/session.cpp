#include "viewer/panels/session.hpp"

#include <algorithm>
#include <exception>
#include <utility>

namespace boltwalk {

namespace {
std::atomic<void (*)()> wake_window = nullptr;

// Shares of the whole, as they came out on the large demo map; only the bar's evenness hangs on them.
constexpr float READ_UNTIL = 0.35F, PLANNED_UNTIL = 0.5F;
} // namespace

void on_opening_progress(void (*wake)()) {
    wake_window = wake;
}

State start_of(const Session& session, bool back) {
    if (!back)
        return as_found(session.job);
    return refit_begin(session.strip);
}

Opening::Opening(std::string path) : path_(std::move(path)), thread_([this] { work(); }) {}

Opening::~Opening() {
    cancel();
    if (thread_.joinable())
        thread_.join();
}

void Opening::work() {
    const auto wake = [] {
        if (auto* const call = wake_window.load())
            call();
    };
    const auto on_to = [&](const char* what, float from, float until) {
        doing_ = what;
        share_ = from;
        wake();
        return [this, from, until, wake](float share) {
            const float now = from + std::clamp(share, 0.0F, 1.0F) * (until - from);
            if (now - share_ > 0.01F) {
                share_ = now;
                wake();
            }
            return !cancelled_;
        };
    };
    try {
        auto made = std::make_unique<Session>();
        ReadOptions options;
        options.progress = on_to("reading the file", 0, READ_UNTIL);
        auto map = read_map(path_, options);
        if (!map) {
            error = map.error().text;
        } else if (!cancelled_) {
            made->map = std::move(*map);
            const auto planning = on_to("working out the order", READ_UNTIL, PLANNED_UNTIL);
            made->job = prepare(made->map);
            made->strip = plan_strip(made->job);
            planning(0.3F);
            made->refit = plan_refit(made->job, made->strip);
            planning(0.6F);
            for (std::size_t i = 0; i < made->strip.steps.size(); ++i)
                made->strip_cards.push_back(card_of(made->job, made->strip, i));
            for (std::size_t i = 0; i < made->refit.steps.size(); ++i)
                made->refit_cards.push_back(card_of(made->job, made->refit, i));
            made->findings = check(made->job);
            const auto staging = on_to("finding edges to draw", PLANNED_UNTIL, 1);
            if (!cancelled_)
                made->stage = make_stage(made->map, staging);
            if (!cancelled_)
                session = std::move(made);
        }
    } catch (const std::exception& failure) { // out of memory, most likely
        error = path_ + ": could not be opened: " + failure.what();
    }
    share_ = 1;
    finished_ = true;
    wake();
}

} // namespace boltwalk

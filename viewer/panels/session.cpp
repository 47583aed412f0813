#include "viewer/panels/session.hpp"

#include <algorithm>
#include <exception>
#include <utility>

#include "core/job/estimated.hpp"

namespace boltwalk {

namespace {
std::atomic<void (*)()> wake_call = nullptr;

// Shares of the whole, as they came out on the large demo map; only the bar's evenness hangs on them.
constexpr float READ_UNTIL = 0.2F, ASKED_UNTIL = 0.4F, PLANNED_UNTIL = 0.45F, STAGED_UNTIL = 0.6F, EYES_UNTIL = 0.7F,
                DOWN_UNTIL = 0.85F;
} // namespace

/// The cameras of both ways. What is cancelled stays without, and is thrown away.
template <typename OnTo>
static void find_views(Session& session, const OnTo& on_to) {
    Effort effort;
    effort.progress = on_to(STAGED_UNTIL, EYES_UNTIL);
    session.eyes = make_eyes(session.map, effort);
    if (!effort.progress(1))
        return;
    for (const bool back : {false, true}) {
        const Plan& plan = back ? session.refit : session.strip;
        effort.progress = back ? on_to(DOWN_UNTIL, 1) : on_to(EYES_UNTIL, DOWN_UNTIL);
        const auto shots = shots_of(session.job, plan, start_of(session, back));
        (back ? session.refit_views : session.strip_views) =
            views_of(session.job, session.stage, session.eyes, shots, session.room, effort);
    }
}

void on_opening_progress(void (*wake)()) {
    wake_call = wake;
}

void wake_window() {
    if (auto* const call = wake_call.load())
        call();
}

State start_of(const Session& session, bool back) {
    if (!back)
        return as_found(session.job);
    return refit_begin(session.strip);
}

Opening::Opening(std::string path, const Room& room)
    : path_(std::move(path)), room_(room), thread_([this] { work(); }) {}

Opening::~Opening() {
    cancel();
    if (thread_.joinable())
        thread_.join();
}

void Opening::work() {
    const auto wake = [] { wake_window(); };
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
        made->room = room_;
        ReadOptions options;
        options.progress = on_to("reading the file", 0, READ_UNTIL);
        auto map = read_map(path_, options);
        if (!map) {
            error = map.error().text;
        } else if (!cancelled_) {
            made->map = std::move(*map);
            const auto planning = on_to("working out the order", ASKED_UNTIL, PLANNED_UNTIL);
            Effort effort;
            effort.progress = on_to("asking the shapes what is in whose way", READ_UNTIL, ASKED_UNTIL);
            made->job = job_with_shapes(made->map, effort);
            made->strip = plan_strip(made->job);
            planning(0.3F);
            made->refit = plan_refit(made->job, made->strip);
            planning(0.6F);
            for (std::size_t i = 0; i < made->strip.steps.size(); ++i)
                made->strip_cards.push_back(card_of(made->job, made->strip, i));
            for (std::size_t i = 0; i < made->refit.steps.size(); ++i)
                made->refit_cards.push_back(card_of(made->job, made->refit, i));
            made->findings = check(made->job);
            const auto staging = on_to("finding edges to draw", PLANNED_UNTIL, STAGED_UNTIL);
            if (!cancelled_)
                made->stage = make_stage(made->map, staging);
            if (!cancelled_ && !made->map.items.empty())
                find_views(*made, [&](float from, float until) {
                    return on_to("working out where to look from", from, until);
                });
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

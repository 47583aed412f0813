#include "viewer/panels/session.hpp"

#include <algorithm>
#include <exception>
#include <utility>

#include "core/job/estimated.hpp"
#include "core/job/step_numbers.hpp"

namespace boltwalk {

namespace {
std::atomic<void (*)()> wake_call = nullptr;

// Shares of the whole, as they came out on the large demo map; only the bar's evenness hangs on them.
constexpr float READ_UNTIL = 0.2F, ASKED_UNTIL = 0.4F, PLANNED_UNTIL = 0.45F, STAGED_UNTIL = 0.6F;
constexpr float EYES_SHARE = 0.25F, DOWN_SHARE = 0.625F; // of finding the views
constexpr const char* ASKING = "asking the shapes what is in whose way";
} // namespace

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

void find_views(Session& session, const std::function<bool(float)>& progress) {
    const auto part = [&](float from, float until) {
        return [&progress, from, until](float share) { return !progress || progress(from + share * (until - from)); };
    };
    Effort effort;
    effort.progress = part(0, EYES_SHARE);
    session.eyes = make_eyes(session.map, effort);
    if (!effort.progress(1))
        return;
    for (const bool back : {false, true}) {
        const Plan& plan = back ? session.refit : session.strip;
        effort.progress = back ? part(DOWN_SHARE, 1) : part(EYES_SHARE, DOWN_SHARE);
        const auto shots = shots_of(session.job, plan, start_of(session, back));
        (back ? session.refit_views : session.strip_views) =
            views_of(session.job, session.stage, session.eyes, shots, session.room, effort);
    }
}

Opening::Opening(std::string path, const Room& room)
    : path_(std::move(path)), room_(room), made_(std::make_unique<Session>()) {
    if (!ONE_THREAD)
        thread_ = std::thread([this] {
            while (step()) {
            }
        });
}

Opening::~Opening() {
    cancel();
    if (thread_.joinable())
        thread_.join();
}

void Opening::wait_for_shapes() {
    waits_ = true;
}

void Opening::take_shapes(Estimates shapes) {
    shapes_ = std::move(shapes);
    waits_ = false;
}

void Opening::take_share(float share) {
    if (waits_)
        share_ = std::max<float>(share_, std::min(share, ASKED_UNTIL));
}

// One piece after the other, each short enough for a bar to move between them; false when there is none left.
bool Opening::step() {
    const auto on_to = [&](const char* what, float from, float until) {
        doing_ = what;
        share_ = from;
        wake_window();
        return [this, from, until](float share) {
            const float now = from + std::clamp(share, 0.0F, 1.0F) * (until - from);
            if (now - share_ > 0.01F) {
                share_ = now;
                wake_window();
            }
            return !cancelled_;
        };
    };
    bool goes_on = false;
    try {
        if (!cancelled_)
            goes_on = do_piece(on_to);
    } catch (const std::exception& failure) { // out of memory, most likely
        error = path_ + ": could not be opened: " + failure.what();
    }
    if (goes_on)
        return true;
    if (error.empty() && !cancelled_)
        session = std::move(made_);
    made_.reset();
    share_ = 1;
    finished_ = true;
    wake_window();
    return false;
}

template <typename OnTo>
bool Opening::do_piece(const OnTo& on_to) {
    Session& made = *made_;
    switch (piece_++) {
    case 0: {
        made.room = room_;
        ReadOptions options;
        options.progress = on_to("reading the file", 0, READ_UNTIL);
        auto map = read_map(path_, options);
        if (!map) {
            error = map.error().text;
            return false;
        }
        made.map = std::move(*map);
        made.job = prepare(made.map);
        return true;
    }
    case 1: {
        if (waits_) {
            if (!staged_)
                made.stage = make_stage(made.map);
            staged_ = true;
            doing_ = ASKING;
            share_ = std::max<float>(share_, READ_UNTIL);
            --piece_;
            return true;
        }
        Effort effort;
        effort.progress = on_to(ASKING, READ_UNTIL, ASKED_UNTIL);
        if (!shapes_)
            shapes_ = ask_shapes(made.job, effort);
        return true;
    }
    case 2:
        on_to("working out the order", ASKED_UNTIL, PLANNED_UNTIL);
        if (shapes_)
            reckon_with(made.job, *shapes_);
        made.strip = plan_strip(made.job);
        return true;
    case 3:
        on_to("working out the order", ASKED_UNTIL, PLANNED_UNTIL)(0.3F);
        made.refit = plan_refit(made.job, made.strip);
        return true;
    case 4:
        on_to("working out the order", ASKED_UNTIL, PLANNED_UNTIL)(0.6F);
        for (std::size_t i = 0; i < made.strip.steps.size(); ++i)
            made.strip_cards.push_back(card_of(made.job, made.strip, i));
        for (std::size_t i = 0; i < made.refit.steps.size(); ++i)
            made.refit_cards.push_back(card_of(made.job, made.refit, i));
        made.findings = check(made.job);
        made.turns = tightenings(made.job, made.refit);
        made.numbers = step_numbers(made.job, made.strip, made.refit, made.turns);
        return true;
    case 5:
        if (!staged_)
            made.stage = make_stage(made.map, on_to("finding edges to draw", PLANNED_UNTIL, STAGED_UNTIL));
        return !ONE_THREAD && !made.map.items.empty();
    default:
        find_views(made, on_to("working out where to look from", STAGED_UNTIL, 1));
        return false;
    }
}

} // namespace boltwalk

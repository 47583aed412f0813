#include "viewer/scene/steady.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace boltwalk {

namespace {

constexpr double LONGER = 1.5;      ///< times the leader that a fresh layout gives it, and
constexpr double LONGER_PX = 60;    ///< so much more: then it is worth going over
constexpr double SAME_PLACE_PX = 2; ///< from its place in a fresh layout: nothing to go over to
constexpr int GO_OVER_MOST = 2;     ///< times that a label goes over to another place while the picture rests
constexpr double NARROWER_PX = 80;  ///< of leader that a label is given before it is broken narrower
constexpr double READ_FROM = 0.95;  ///< opacity: on less the drawing shines through, and its words lose their contrast

const LabelTarget* target_of(const LabelAsk& ask, std::int32_t id) {
    const auto found =
        std::find_if(ask.targets.begin(), ask.targets.end(), [&](const LabelTarget& t) { return t.id == id; });
    return found != ask.targets.end() ? &*found : nullptr;
}

double to_rect(const Rect& box, glm::dvec2 p) {
    const glm::dvec2 nearest(std::clamp(p.x, box.x, box.right()), std::clamp(p.y, box.y, box.bottom()));
    return glm::length(nearest - p);
}

/// Between two boxes; below 0: they overlap.
double apart(const Rect& a, const Rect& b) {
    return std::max(std::max(a.x - b.right(), b.x - a.right()), std::max(a.y - b.bottom(), b.y - a.bottom()));
}

/// From a line to a box, up to `most`, in four steps: enough to fade by.
double apart(const Segment& line, const Rect& box, double most) {
    for (const double share : {0.0, 0.25, 0.5, 0.75})
        if (runs_through(line, grown(box, share * most)))
            return share * most;
    return most;
}

/// From one label to another, their leaders too, up to `within`.
double apart(const LabelBox& a, const LabelBox& b, double within) {
    double least = std::min(within, apart(a.box, b.box));
    for (const glm::dvec2& point : b.leaders)
        least = std::min(least, apart({b.foot, point}, a.box, within));
    for (const glm::dvec2& point : a.leaders)
        least = std::min(least, apart({a.foot, point}, b.box, within));
    return least;
}

struct Now {
    std::span<const LabelAsk> asks;
    const LabelRoom& room;
    double within; ///< a label fades from here on
    std::vector<HeldLabel> kept;

    /// What is left between a label and the nearest thing that it must not touch, up to `within`.
    double clearance(const LabelBox& label) const {
        const Rect& box = label.box;
        const Rect area = grown(room.area, within);
        double least = std::min(
            {within, box.x - area.x, box.y - area.y, area.right() - box.right(), area.bottom() - box.bottom()});
        for (const Rect& taken : room.reserved)
            least = std::min(least, apart(box, grown(taken, -within)));
        for (const LabelAsk& ask : asks)
            for (const LabelTarget& target : ask.targets)
                least = std::min(least, to_rect(box, target.at) - target.radius_px);
        for (const HeldLabel& other : kept)
            least = std::min(least, apart(label, other.at, within));
        return least;
    }

    /// The same label with its box there, its leaders to where its targets are now.
    LabelBox moved_to(const LabelBox& label, glm::dvec2 corner) const {
        LabelBox there = label;
        const glm::dvec2 by = corner - glm::dvec2(label.box.x, label.box.y);
        there.box.x = corner.x;
        there.box.y = corner.y;
        there.foot += by;
        there.leaders.clear();
        there.led.clear();
        for (const std::int32_t id : label.led)
            if (const LabelTarget* target = target_of(asks[std::size_t(label.wish)], id)) {
                there.leaders.push_back(leader_end(there.foot, *target));
                there.led.push_back(id);
            }
        return there;
    }

    /// Carried along by its mark, and slid away from what is near. False: it is gone.
    bool carry(HeldLabel& label, double slide) const {
        const LabelAsk& ask = asks[std::size_t(label.at.wish)];
        const LabelTarget* lead = target_of(ask, label.lead);
        if (lead == nullptr || ask.sizes.empty())
            return false;
        LabelBox best = moved_to(label.at, lead->at + label.offset);
        double clear = clearance(best);
        static constexpr std::array<glm::dvec2, 8> SIDES{
            {{0, -1}, {0, 1}, {-1, 0}, {1, 0}, {-0.7, -0.7}, {0.7, -0.7}, {-0.7, 0.7}, {0.7, 0.7}}};
        if (clear < READ_FROM * within && slide > 0) { // less is dust, and it does not fade for it
            const LabelBox carried = best;
            for (const glm::dvec2& side : SIDES) {
                const LabelBox there = moved_to(carried, glm::dvec2(carried.box.x, carried.box.y) + side * slide);
                if (const double room_there = clearance(there); room_there > clear) {
                    clear = room_there;
                    best = there;
                }
            }
        }
        if (clear <= 0)
            return false;
        label.at = best;
        label.offset = glm::dvec2(best.box.x, best.box.y) - lead->at;
        label.at.opacity = std::min(label.strength, clear / within);
        return true;
    }
};

double leader_length(const LabelBox& label) {
    double sum = 0;
    for (const glm::dvec2& point : label.leaders)
        sum += glm::length(point - label.foot);
    return label.leaders.empty() ? 0 : sum / double(label.leaders.size());
}

bool on_line(const LabelBox& label, const LabelRoom& room) {
    return std::any_of(room.lines.begin(), room.lines.end(),
                       [&](const Segment& line) { return runs_through(line, label.box); });
}

const LabelBox* box_of(const LabelLayout& layout, std::int32_t wish) {
    const auto found =
        std::find_if(layout.boxes.begin(), layout.boxes.end(), [&](const LabelBox& box) { return box.wish == wish; });
    return found != layout.boxes.end() ? &*found : nullptr;
}

bool is_there(const LabelBox& goal, const LabelBox& now, double scale) {
    return goal.form == now.form &&
           glm::length(glm::dvec2(goal.box.x - now.box.x, goal.box.y - now.box.y)) < SAME_PLACE_PX * scale;
}

/// Is it worth going over to a fresh layout's place?
bool is_better(const LabelBox& goal, const LabelBox& now, const LabelRoom& room, double scale) {
    if (is_there(goal, now, scale) || goal.form != now.form)
        return false;
    if (on_line(now, room) != on_line(goal, room))
        return on_line(now, room);
    return leader_length(now) > LONGER * leader_length(goal) + LONGER_PX * scale ||
           goal.leaders.size() > now.leaders.size();
}

/// Nothing else that is held is near that place: else what goes for it comes back where it was, and goes again for
/// ever.
bool is_free(const SteadyLabels& labels, const LabelBox& place, double within) {
    return std::all_of(labels.held.begin(), labels.held.end(), [&](const HeldLabel& other) {
        return other.at.wish == place.wish || apart(place, other.at, within) >= within;
    });
}

/// Would it say more in a fresh layout, or does one that is missing find room there only when this goes over?
bool should_go_over(const SteadyLabels& labels, const LabelBox& better, const LabelBox& now, const LabelLayout& goal,
                    double within, double scale) {
    if (is_there(better, now, scale))
        return false;
    if (better.form < now.form)
        return is_free(labels, better, within);
    const auto is_missing = [&](const LabelBox& one) {
        return std::none_of(labels.held.begin(), labels.held.end(),
                            [&](const HeldLabel& other) { return other.at.wish == one.wish; });
    };
    return std::any_of(goal.boxes.begin(), goal.boxes.end(),
                       [&](const LabelBox& one) { return apart(one, now, within) < within && is_missing(one); });
}

/// The best of its sizes beside those that are kept; a shorter form only where none that says more finds room.
std::optional<LabelBox> placed(const Now& now, std::size_t wish, double scale) {
    LabelLayout kept;
    for (const HeldLabel& label : now.kept)
        kept.boxes.push_back(label.at);
    std::vector<glm::dvec2> sizes(now.asks.size());
    std::vector<std::vector<LabelTarget>> targets;
    for (const LabelAsk& ask : now.asks)
        targets.push_back(ask.targets);
    std::optional<LabelBox> best;
    double price = 0;
    for (std::size_t k = 0; k < now.asks[wish].sizes.size(); ++k) {
        const LabelSize& size = now.asks[wish].sizes[k];
        if (best && best->form != size.form)
            break;
        sizes[wish] = size.px;
        LabelLayout more = kept;
        if (!lay_out_one_more(sizes, targets, now.room, nullptr, more, wish))
            continue;
        LabelBox& one = more.boxes.back();
        one.form = size.form;
        const double asked = leader_length(one) + double(k) * NARROWER_PX * scale + (on_line(one, now.room) ? 1e6 : 0);
        if (!best || asked < price) {
            best = one;
            price = asked;
        }
    }
    return best;
}

} // namespace

LabelLayout steady(SteadyLabels& labels, std::span<const LabelAsk> asks, const LabelRoom& room, const LabelLayout* goal,
                   double seconds, double scale) {
    Now now{asks, room, FADE_WITHIN * scale, {}};
    labels.away_s.resize(asks.size(), 0);
    for (double& away : labels.away_s)
        away = std::max(0.0, away - seconds);
    labels.gone_over.resize(asks.size(), 0);
    if (goal == nullptr)
        std::fill(labels.gone_over.begin(), labels.gone_over.end(), std::uint8_t{0});
    labels.busy = false;
    labels.all_go = labels.all_go && !labels.held.empty();

    for (HeldLabel& label : labels.held) {
        const auto wish = std::size_t(label.at.wish);
        const LabelBox* better = goal != nullptr ? box_of(*goal, label.at.wish) : nullptr;
        // Not for ever: where two want one place, or room comes and goes with another, each stays in the end.
        label.leaving = label.leaving || labels.all_go;
        const auto may_go = [&] { return !label.leaving && goal != nullptr && labels.gone_over[wish] < GO_OVER_MOST; };
        const auto go = [&](bool goes) {
            label.leaving = goes;
            labels.gone_over[wish] = static_cast<std::uint8_t>(labels.gone_over[wish] + (goes ? 1 : 0));
        };
        if (better != nullptr && may_go())
            go((is_better(*better, label.at, room, scale) && is_free(labels, *better, now.within)) ||
               should_go_over(labels, *better, label.at, *goal, now.within, scale));
        label.strength =
            label.leaving ? label.strength - seconds / FADE_OUT_S : std::min(1.0, label.strength + seconds / FADE_IN_S);
        if (label.strength <= 0 && label.leaving) // it comes back at once, where it is better off
            continue;
        if (!now.carry(label, SLIDE_PX_PER_S * scale * seconds)) {
            labels.away_s[wish] = AWAY_S;
            continue;
        }
        // Half faded it does not stay when the picture rests.
        if (may_go())
            go(label.at.opacity < READ_FROM * label.strength);
        now.kept.push_back(label);
    }

    const bool any_leaves =
        std::any_of(now.kept.begin(), now.kept.end(), [](const HeldLabel& label) { return label.leaving; });
    LabelLayout shown;
    for (std::size_t wish = 0; wish < asks.size() && !labels.all_go; ++wish) {
        if (asks[wish].sizes.empty() || asks[wish].targets.empty() ||
            std::any_of(now.kept.begin(), now.kept.end(),
                        [&](const HeldLabel& label) { return std::size_t(label.at.wish) == wish; }))
            continue;
        if (labels.away_s[wish] > 0) {
            labels.busy = true;
            continue;
        }
        std::optional<LabelBox> place;
        if (const LabelBox* wanted = goal != nullptr ? box_of(*goal, std::int32_t(wish)) : nullptr)
            if (now.clearance(*wanted) >= now.within)
                place = *wanted;
        if (!place && !any_leaves)
            place = placed(now, wish, scale);
        if (!place || place->led.empty()) {
            labels.busy = labels.busy || any_leaves;
            continue;
        }
        HeldLabel label;
        label.at = *place;
        label.at.opacity = 0;
        label.lead = place->led.front();
        label.offset = glm::dvec2(place->box.x, place->box.y) - target_of(asks[wish], label.lead)->at;
        label.came = labels.came++;
        now.kept.push_back(label);
    }

    labels.held = std::move(now.kept);
    labels.busy = labels.busy || labels.all_go;
    for (const HeldLabel& label : labels.held) {
        labels.busy = labels.busy || label.leaving || label.strength < 1;
        shown.boxes.push_back(label.at);
    }
    // Whatever the reason that one is not in plain sight: it waits, it fades, nothing is left of its room.
    for (std::size_t wish = 0; wish < asks.size(); ++wish) {
        const LabelBox* box = box_of(shown, std::int32_t(wish));
        if (!asks[wish].sizes.empty() && (box == nullptr || box->opacity < READ_FROM))
            shown.left_out.push_back(std::int32_t(wish));
    }
    return shown;
}

} // namespace boltwalk

// What matters in the step shown: its kinds of fasteners and what looks like them, and which wrench to take.
#include <algorithm>

#include <fmt/format.h>

#include "viewer/panels/walk.hpp"

namespace boltwalk {

std::vector<KindNow> kinds_now(const View& view) {
    std::vector<KindNow> kinds;
    if (!view.keeper || at_end(view))
        return kinds;
    const Map& map = view.session->map;
    const std::vector<Count>& ledger = view.done.ledger;
    const auto known = [&](std::size_t count) {
        return std::any_of(kinds.begin(), kinds.end(), [&](const KindNow& one) { return one.count == count; });
    };
    for (const ItemId item : plan_of(view).steps[view.at].items) {
        if (!map.is_fastener(item) || std::any_of(kinds.begin(), kinds.end(), [&](const KindNow& one) {
                return counts_those_of(map, ledger[one.count], item);
            }))
            continue;
        for (std::size_t i = 0; i < ledger.size(); ++i)
            if (counts_those_of(map, ledger[i], item)) {
                kinds.push_back({i, false, !ledger[i].look_alikes.empty()});
                break;
            }
    }
    for (std::size_t own = 0, count = kinds.size(); own < count; ++own)
        for (const std::size_t like : ledger[kinds[own].count].look_alikes)
            if (!known(like))
                kinds.push_back({like, true, true});
    return kinds;
}

std::string numbered_for_later(Verb verb, const std::vector<Tick>& ticks, const std::vector<Tightening>& turns) {
    if (verb == Verb::tighten)
        return {};
    // What is tightened has the first numbers (core/job/step_numbers.hpp): the others' say nothing.
    bool several = false;
    std::vector<int> numbers;
    for (const Tick& tick : ticks)
        for (const Tightening& one : turns)
            if (std::find(one.items.begin(), one.items.end(), tick.item) != one.items.end()) {
                several = several || one.items.size() > 1;
                numbers.push_back(tick.number);
                break;
            }
    if (!several || numbers.size() < 2)
        return {};
    if (numbers.size() == ticks.size())
        return "Numbered as they will be tightened.";
    std::string runs; // "1..4, 7"
    for (std::size_t i = 0, end = 0; i < numbers.size(); i = end) {
        for (end = i + 1; end < numbers.size() && numbers[end] == numbers[end - 1] + 1;)
            ++end;
        runs += runs.empty() ? "" : ", ";
        runs += end - i == 1 ? std::to_string(numbers[i]) : fmt::format("{}..{}", numbers[i], numbers[end - 1]);
    }
    return fmt::format("Numbers {}: as they will be tightened.", runs);
}

std::optional<WrenchChoice> wrench_now(const View& view, const Ticks& ticks) {
    if (!view.wrenches || ticks.turning == nullptr)
        return std::nullopt;
    const auto round = std::size_t(ticks.turn.round);
    if (round >= ticks.turning->rounds.size())
        return std::nullopt;
    return choose_wrench(*view.wrenches, ticks.turning->rounds[round].stage, std::nullopt, view.unit);
}

std::size_t none_stated(const std::vector<Untorqued>& list) {
    return std::size_t(std::count_if(list.begin(), list.end(), [](const Untorqued& one) { return one.none_stated; }));
}

} // namespace boltwalk

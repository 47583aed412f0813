// What matters in the step shown: its kinds of fasteners and what looks like them, and which wrench to take.
#include <algorithm>

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

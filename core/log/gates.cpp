// What must be confirmed before the walk goes on. A gate says so of all that comes after it in its order, also of what
// no `after` ties to it.
#include <algorithm>
#include <tuple>

#include "core/log/folding.hpp"

namespace boltwalk {

namespace {

bool stands_before(const Gates::Place& a, const Gates::Place& b) {
    return std::tuple(a.refit, a.verb, a.item.index) < std::tuple(b.refit, b.verb, b.item.index);
}

const Gates::Place* place_of(const Gates& gates, bool refit, const Entry& e) {
    const Gates::Place wanted{refit, e.verb, e.item, {}, 0};
    const auto [begin, end] = std::equal_range(gates.places.begin(), gates.places.end(), wanted, stands_before);
    const auto found = std::find_if(
        begin, end, [&](const Gates::Place& one) { return e.verb != Verb::set_vehicle || one.vehicle == e.vehicle; });
    return found == end ? nullptr : &*found;
}

} // namespace

Gates gates_of(const Map& map, const Plan& strip, const Plan& refit) {
    Gates gates;
    for (const Plan* plan : {&strip, &refit})
        for (std::size_t i = 0; i < plan->steps.size(); ++i) {
            const Step& step = plan->steps[i];
            if (step.items.empty())
                gates.places.push_back({plan->refit, step.verb, {}, step.vehicle, i});
            for (const ItemId item : step.items) {
                gates.places.push_back({plan->refit, step.verb, item, {}, i});
                if (step.verb == Verb::do_task && map.is_task(item) && map.task(item).gate)
                    gates.all.push_back({item, plan->refit, i});
            }
        }
    // Each entry of a log is looked up: of what comes twice, the first time stays first.
    std::stable_sort(gates.places.begin(), gates.places.end(), stands_before);
    return gates;
}

std::vector<std::size_t> log_fold::passed_over(const JobNow& now, const Map& map, const Entry& e) {
    std::vector<std::size_t> out;
    if (e.deed != Deed::did || now.gates.all.empty())
        return out;
    const bool refit = now.state.refit;
    const Gates::Place* place = place_of(now.gates, refit, e);
    for (std::size_t i = 0; place != nullptr && i < now.gates.all.size(); ++i) {
        const Gates::Gate& gate = now.gates.all[i];
        if (gate.refit == refit && gate.step < place->step && now.passed[i] == 0 &&
            now.state.done[slot(map, gate.task)] == 0)
            out.push_back(i);
    }
    return out;
}

} // namespace boltwalk

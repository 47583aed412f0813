#include "core/job/step_numbers.hpp"

#include <algorithm>
#include <numeric>
#include <utility>

namespace boltwalk {

namespace {

/// Items that are numbered together, as trees; each is known by the item at its root.
struct Together {
    std::vector<std::size_t> above;

    std::size_t root(std::size_t item) {
        while (above[item] != item)
            item = above[item] = above[above[item]];
        return item;
    }
    void join(const std::vector<ItemId>& items) {
        for (const ItemId item : items)
            above[root(static_cast<std::size_t>(item.index))] = root(static_cast<std::size_t>(items.front().index));
    }
};

} // namespace

std::vector<int> step_numbers(const Job& job, const Plan& strip, const Plan& refit,
                              const std::vector<Tightening>& tightenings) {
    const std::size_t count = job.map->items.size();
    Together together;
    together.above.resize(count);
    std::iota(together.above.begin(), together.above.end(), std::size_t{0});
    std::vector<ItemId> order; // in which they are numbered
    std::vector<std::uint8_t> known(count, 0);
    const auto add = [&](const std::vector<ItemId>& items) {
        for (const ItemId item : items)
            if (!std::exchange(known[static_cast<std::size_t>(item.index)], std::uint8_t{1}))
                order.push_back(item);
    };
    for (const Tightening& one : tightenings) {
        together.join(one.items);
        add(one.items);
    }
    const std::size_t tightened = order.size();
    for (const Plan* plan : {&strip, &refit})
        for (const Step& step : plan->steps) {
            together.join(step.items);
            add(step.items);
        }
    std::sort(order.begin() + static_cast<std::ptrdiff_t>(tightened), order.end());
    std::vector<int> last(count, 0);
    std::vector<int> numbers(count, 0);
    for (const ItemId item : order)
        numbers[static_cast<std::size_t>(item.index)] = ++last[together.root(static_cast<std::size_t>(item.index))];
    return numbers;
}

} // namespace boltwalk

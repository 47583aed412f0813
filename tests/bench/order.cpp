// How the time of `check` and `order` grows with the number of fasteners: the ratio of the time a fastener at ten times
// the count, which n log n allows to grow by log(10 n) / log(n). Best of five, in one run, on assemblies in proportion:
// parts bolted to a body and to each other, pins, `after` between neighbours of the file.
//
//     build/bench_order
#define DOCTEST_CONFIG_IMPLEMENT // the builder of maps prints through doctest
#include <chrono>
#include <cmath>
#include <cstdio>

#include "tests/shared/random_assembly.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

/// Like random_assembly, but every relation reaches back no farther than a neighbourhood, as on a vehicle.
Build proportionate(int fasteners) {
    Dice dice(7);
    Build b;
    b.map.items.reserve(static_cast<std::size_t>(fasteners) * 2);
    Part& body = b.part("body", true);
    const ItemId body_id = body.item;
    std::vector<ItemId> parts;
    for (int f = 0; f < fasteners;) {
        const ItemId part = b.part("p" + std::to_string(parts.size())).item;
        parts.push_back(part);
        const int bolts = 2 + dice.below(5);
        ItemId to = body_id;
        if (parts.size() > 1 && dice.chance(40))
            to = parts[parts.size() - 2];
        const int first = static_cast<int>(b.map.items.size());
        for (int i = 0; i < bolts; ++i, ++f) {
            Fastener& bolt = b.fastener("f" + std::to_string(f), {});
            bolt.holds = {part, to};
            bolt.thread = Thread{ThreadSeries::iso_coarse, 8, 1.25, "M8"};
            Item& item = b.map.items.back();
            item.from = static_cast<Place>(1 + dice.below(4));
            if (first > 40 && dice.chance(20))
                item.after.push_back({first - 1 - dice.below(40)});
        }
    }
    return b;
}

template <typename Work>
double best_seconds(const Work& work) {
    double best = 1e30;
    for (int i = 0; i < 5; ++i) {
        const auto begin = std::chrono::steady_clock::now();
        work();
        best = std::min(best, std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count());
    }
    return best;
}

} // namespace

int main() {
    std::printf("%10s %8s %14s %14s\n", "fasteners", "steps", "order us each", "check us each");
    double last_order = 0, last_check = 0;
    int last = 0;
    bool good = true;
    for (const int count : {100, 1000, 10000, 100000}) {
        const Build b = proportionate(count);
        const Job job = prepare(b.map);
        const Plan plan = plan_strip(job);
        const double n = static_cast<double>(b.map.fasteners.size());
        const double order = best_seconds([&] { plan_strip(prepare(b.map)); }) / n;
        const double check_each = best_seconds([&] { check(prepare(b.map)); }) / n;
        std::printf("%10d %8zu %14.2f %14.2f", count, plan.steps.size(), order * 1e6, check_each * 1e6);
        if (last > 0) {
            const double allowed = std::log(static_cast<double>(count)) / std::log(static_cast<double>(last));
            std::printf("   times the last: %.2f, %.2f (n log n allows %.2f)", order / last_order,
                        check_each / last_check, allowed);
            good = good && order / last_order <= allowed * 1.25 && check_each / last_check <= allowed * 1.25;
        }
        std::printf("\n");
        last_order = order;
        last_check = check_each;
        last = count;
    }
    std::printf("%s\n", good ? "grows no worse than n log n" : "GROWS WORSE THAN n log n");
    return 0;
}

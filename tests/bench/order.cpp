// How the time of `check` and `order` grows with the number of fasteners: the ratio of the time a fastener at ten times
// the count, which n log n allows to grow by log(10 n) / log(n). Processor time, best of several, in one run; on
// assemblies in proportion (parts bolted to a body and to each other, `after` between neighbours of the file), and on
// one big unit with all its small parts, the unit's own mounts last in the file. A chain of parts, each bolted to the
// one before, is told and not judged: every part that leaves it renames the company of all that is left.
//
//     build/bench_order
#define DOCTEST_CONFIG_IMPLEMENT // the builder of maps prints through doctest
#include <cmath>
#include <cstdio>
#include <ctime>

#include "tests/shared/random_assembly.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

void bolt_on(Build& b, ItemId part, ItemId to, int& count) {
    Fastener& bolt = b.fastener("f" + std::to_string(count++), {});
    bolt.holds = {part, to};
    bolt.thread = Thread{ThreadSeries::iso_coarse, 8, 1.25, "M8"};
}

/// Like random_assembly, but every relation reaches back no farther than a neighbourhood, as on a vehicle.
Build proportionate(int fasteners) {
    Dice dice(7);
    Build b;
    b.map.items.reserve(static_cast<std::size_t>(fasteners) * 2);
    const ItemId body = b.part("body", true).item;
    std::vector<ItemId> parts;
    for (int f = 0; f < fasteners;) {
        const ItemId part = b.part("p" + std::to_string(parts.size())).item;
        parts.push_back(part);
        const int bolts = 2 + dice.below(5);
        ItemId to = body;
        if (parts.size() > 1 && dice.chance(40))
            to = parts[parts.size() - 2];
        for (int i = 0; i < bolts; ++i) {
            bolt_on(b, part, to, f);
            Item& item = b.map.items.back();
            item.from = static_cast<Place>(1 + dice.below(4));
            if (part.index > 42 && dice.chance(20))
                item.after.push_back({part.index - 1 - dice.below(40)}); // what stands before it in the file
        }
    }
    return b;
}

/// Two bolts a part, all parts on one unit, which hangs on three bolts at the end of the file.
Build one_unit(int fasteners) {
    Build b;
    b.map.items.reserve(static_cast<std::size_t>(fasteners) * 2);
    const ItemId body = b.part("body", true).item;
    const ItemId unit = b.part("unit").item;
    int count = 0;
    while (count + 3 < fasteners) {
        const ItemId part = b.part("p" + std::to_string(count)).item;
        bolt_on(b, part, unit, count);
        bolt_on(b, part, unit, count);
    }
    for (int i = 0; i < 3; ++i)
        bolt_on(b, unit, body, count);
    return b;
}

Build chain(int fasteners) {
    Build b;
    b.map.items.reserve(static_cast<std::size_t>(fasteners) * 2 + 1);
    ItemId last = b.part("body", true).item;
    for (int count = 0; count < fasteners;) {
        const ItemId part = b.part("p" + std::to_string(count)).item;
        bolt_on(b, part, last, count);
        last = part;
    }
    return b;
}

double processor_seconds() {
    std::timespec now{};
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec) * 1e-9;
}

template <typename Work>
double best_seconds(int runs, const Work& work) {
    double best = 1e30;
    for (int i = 0; i < runs; ++i) {
        const double begin = processor_seconds();
        work();
        best = std::min(best, processor_seconds() - begin);
    }
    return best;
}

bool measure(const char* title, Build (*build)(int), std::initializer_list<int> counts) {
    std::printf("%s\n%10s %8s %14s %14s\n", title, "fasteners", "steps", "order us each", "check us each");
    double last_order = 0, last_check = 0;
    int last = 0;
    bool good = true;
    for (const int count : counts) {
        const Build b = build(count);
        const Plan plan = plan_strip(prepare(b.map));
        for (const Finding& finding : plan.findings)
            if (finding.weight == Weight::fault)
                std::printf("a fault, so that check looks at no way back: %s\n", finding.what.c_str());
        const double n = static_cast<double>(b.map.fasteners.size());
        const int runs = std::max(5, 20000 / count);
        const double order = best_seconds(runs, [&] { plan_strip(prepare(b.map)); }) / n;
        const double check_each = best_seconds(runs, [&] { check(prepare(b.map)); }) / n;
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
    return good;
}

} // namespace

int main() {
    const auto tell = [](bool good) {
        std::printf("%s\n\n", good ? "grows no worse than n log n" : "GROWS WORSE THAN n log n");
    };
    tell(measure("in proportion", proportionate, {100, 1000, 10000, 100000}));
    tell(measure("one unit with everything on it", one_unit, {1000, 10000}));
    measure("a chain, each part on the one before", chain, {1000, 4000});
    return 0;
}

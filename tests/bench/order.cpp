// How `check` and `order` grow with the number of fasteners, each at ten times the count, where n log n allows a
// fastener to cost log(10 n) / log(n) times as much: on assemblies in proportion (parts bolted to a body and to each
// other, `after` between neighbours of the file), on one big unit with all its small parts, the unit's own mounts last
// in the file, and on a chain of parts, each bolted to the one before.
//
// Two figures. Instructions say how the work grows, and are the same on every run however busy the machine: they are
// counted by valgrind, where that is installed, less those that building the assembly takes. Processor time, best of
// several, is what a person waits for; it also grows where more data lies farther from the processor, and a loaded
// machine moves it. So the verdict goes by instructions, and time stands beside it.
// The chain grows worse: every part that leaves it on the bench renames the company of all that is left.
//
//     build/bench_order                       all of it
//     build/bench_order SHAPE COUNT QUESTION  one run of one, for a profiler: proportion, unit or chain; order, check
//                                             or none
#define DOCTEST_CONFIG_IMPLEMENT // the builder of maps prints through doctest
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <optional>
#include <string>

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
    Lots dice(7);
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

/// One run of one question at one size.
int run_one(const std::string& shape, int count, const std::string& question) {
    const Build b = (shape == "proportion" ? proportionate : shape == "unit" ? one_unit : chain)(count);
    if (question == "order")
        plan_strip(prepare(b.map));
    if (question == "check")
        check(prepare(b.map));
    return 0;
}

/// Of one such run in a process of its own; nothing where no valgrind is.
std::optional<double> instructions(const std::string& self, const std::string& shape, int count,
                                   const std::string& question) {
    const std::string command = "valgrind --tool=callgrind --callgrind-out-file=/dev/null '" + self + "' " + shape +
                                " " + std::to_string(count) + " " + question + " 2>&1";
    std::FILE* pipe = popen(command.c_str(), "r");
    if (pipe == nullptr)
        return std::nullopt;
    std::optional<double> counted;
    char line[512];
    while (std::fgets(line, sizeof line, pipe) != nullptr) {
        const std::string text = line;
        if (const std::size_t at = text.find("Collected : "); at != std::string::npos)
            counted = std::strtod(text.c_str() + at + 12, nullptr);
    }
    return pclose(pipe) == 0 ? counted : std::nullopt;
}

/// What a fastener costs at one size; instructions are 0 where they were not counted.
struct Cost {
    int count = 0;
    double order_us = 0, check_us = 0, order_instructions = 0, check_instructions = 0;
};

Cost cost_of(const std::string& self, const std::string& shape, Build (*build)(int), int count) {
    const Build b = build(count);
    const Plan plan = plan_strip(prepare(b.map));
    for (const Finding& finding : plan.findings)
        if (finding.weight == Weight::fault)
            std::printf("a fault, so that check looks at no way back: %s\n", finding.what.c_str());
    const double n = static_cast<double>(b.map.fasteners.size());
    const int runs = std::max(5, 20000 / count);
    Cost cost;
    cost.count = count;
    cost.order_us = best_seconds(runs, [&] { plan_strip(prepare(b.map)); }) / n * 1e6;
    cost.check_us = best_seconds(runs, [&] { check(prepare(b.map)); }) / n * 1e6;
    const auto none = instructions(self, shape, count, "none");
    const auto order = instructions(self, shape, count, "order");
    const auto checked = instructions(self, shape, count, "check");
    if (none && order && checked) {
        cost.order_instructions = (*order - *none) / n;
        cost.check_instructions = (*checked - *none) / n;
    }
    return cost;
}

/// Told, and judged where instructions were counted.
void measure(const std::string& self, const std::string& shape, const char* title, Build (*build)(int),
             std::initializer_list<int> counts) {
    std::printf("%s, each fastener\n%10s %11s %11s %18s %18s\n", title, "fasteners", "order us", "check us",
                "order instructions", "check instructions");
    std::optional<Cost> last;
    bool good = true, counted = true;
    for (const int count : counts) {
        const Cost cost = cost_of(self, shape, build, count);
        std::printf("%10d %11.2f %11.2f %18.0f %18.0f\n", count, cost.order_us, cost.check_us, cost.order_instructions,
                    cost.check_instructions);
        counted = counted && cost.order_instructions > 0;
        if (last) {
            const double allowed = std::log(static_cast<double>(count)) / std::log(static_cast<double>(last->count));
            std::printf("%10s %11.2f %11.2f", "times", cost.order_us / last->order_us, cost.check_us / last->check_us);
            if (counted) {
                const double order = cost.order_instructions / last->order_instructions;
                const double checked = cost.check_instructions / last->check_instructions;
                std::printf(" %18.3f %18.3f", order, checked);
                good = good && order <= allowed && checked <= allowed;
            }
            std::printf("   (n log n allows %.2f)\n", allowed);
        }
        last = cost;
    }
    std::printf("%s\n\n", !counted ? "instructions not counted: valgrind is not installed, so no verdict"
                          : good   ? "the work grows no worse than n log n"
                                   : "THE WORK GROWS WORSE THAN n log n");
}

} // namespace

int main(int argc, char** argv) {
    if (argc == 4)
        return run_one(argv[1], std::atoi(argv[2]), argv[3]);
    const std::string self = argv[0];
    measure(self, "proportion", "in proportion", proportionate, {100, 1000, 10000, 100000});
    measure(self, "unit", "one unit with everything on it", one_unit, {1000, 10000});
    measure(self, "chain", "a chain, each part on the one before", chain, {1000, 4000});
    return 0;
}

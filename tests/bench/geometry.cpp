// What the estimates from shapes cost. First on the big map: all questions for all fasteners, parts and steps, as
// shares of the second that they may take on two cores, and the two searches for orders of the five that those may.
// Then how time and memory grow on assemblies of 100, 1,000 and 10,000 fasteners with parts and triangles in
// proportion. Answers are compared from one thread to two, bit by bit: the program fails when they differ.
//
// Rays beside Embree's and collisions beside FCL's are bench_trees.
//
//     build/bench_geometry                            both, growth up to 10,000 fasteners
//     build/bench_geometry map                        the big map alone
//     build/bench_geometry growth [most] [least]      growth alone, from `least` fasteners by tens to `most`
#define DOCTEST_CONFIG_IMPLEMENT // the builder of models prints through doctest
#include <malloc.h>

#include <atomic>
#include <bit>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <functional>
#include <new>
#include <string>
#include <vector>

#include "core/geometry/geometry.hpp"
#include "core/job/least.hpp"
#include "core/job/poise.hpp"
#include "core/job/shapes.hpp"
#include "core/job/ways.hpp"
#include "tests/shared/shapes.hpp"

namespace {

std::atomic<std::size_t> held{0}, most_held{0};

void* hold(std::size_t size, std::size_t alignment) {
    void* p = alignment > alignof(std::max_align_t)
                  ? std::aligned_alloc(alignment, (size + alignment - 1) / alignment * alignment)
                  : std::malloc(size);
    if (p == nullptr)
        throw std::bad_alloc();
    const std::size_t now = held += malloc_usable_size(p);
    std::size_t most = most_held.load();
    while (most < now && !most_held.compare_exchange_weak(most, now)) {
    }
    return p;
}

void let_go(void* p) noexcept {
    if (p == nullptr)
        return;
    held -= malloc_usable_size(p);
    std::free(p);
}

} // namespace

void* operator new(std::size_t size) {
    return hold(size, 0);
}
void* operator new(std::size_t size, std::align_val_t alignment) {
    return hold(size, static_cast<std::size_t>(alignment));
}
void operator delete(void* p) noexcept {
    let_go(p);
}
void operator delete(void* p, std::size_t) noexcept {
    let_go(p);
}
void operator delete(void* p, std::align_val_t) noexcept {
    let_go(p);
}
void operator delete(void* p, std::size_t, std::align_val_t) noexcept {
    let_go(p);
}

using namespace boltwalk;
using boltwalk::testing::Dice;

namespace {

struct Clock {
    double wall = 0, processor = 0;
};

Clock now() {
    const auto seconds = [](clockid_t id) {
        timespec time{};
        clock_gettime(id, &time);
        return static_cast<double>(time.tv_sec) + 1e-9 * static_cast<double>(time.tv_nsec);
    };
    return {seconds(CLOCK_MONOTONIC), seconds(CLOCK_PROCESS_CPUTIME_ID)};
}

/// Adds up what each question takes.
struct Times {
    struct Line {
        const char* question;
        Clock spent;
        std::size_t most = 0; ///< bytes on the heap beyond what was there when all began
    };
    std::size_t before = held;
    std::vector<Line> lines;
    void take(const char* question, const std::function<void()>& work) {
        most_held = held.load();
        const Clock begin = now();
        work();
        const Clock end = now();
        lines.push_back({question, {end.wall - begin.wall, end.processor - begin.processor}, most_held - before});
    }
    std::size_t most() const {
        std::size_t most = 0;
        for (const Line& line : lines)
            most = std::max(most, line.most);
        return most;
    }
    Clock sum() const {
        Clock all;
        for (const Line& line : lines) {
            all.wall += line.spent.wall;
            all.processor += line.spent.processor;
        }
        return all;
    }
};

/// A number for all bits of an answer (FNV-1a, Fowler, Noll, Vo).
class Digest {
public:
    void add(double value) { add_bits(std::bit_cast<std::uint64_t>(value)); }
    void add(const glm::dvec3& p) {
        for (int axis = 0; axis < 3; ++axis)
            add(p[axis]);
    }
    void add_bits(std::uint64_t bits) {
        for (int i = 0; i < 8; ++i)
            value_ = (value_ ^ (bits >> (8 * i) & 0xffU)) * 0x100000001b3ULL;
    }
    void add(const WaysOut& out) {
        for (const WayAnswer& way : out.ways)
            for (const LegAnswer& leg : way.legs) {
                add(leg.leg);
                for (const Meeting& met : leg.met) {
                    add_bits(static_cast<std::uint64_t>(met.body));
                    add_bits(static_cast<std::uint64_t>(met.verdict));
                    add(met.after_mm);
                }
            }
    }
    void add(const Masses& masses) {
        for (const BodyMass& mass : masses.bodies) {
            add(mass.volume_m3);
            add(mass.centre);
        }
    }
    void add(const std::vector<Seen>& list) {
        for (const Seen& one : list)
            for (const double share : one.share)
                add(share);
    }
    void add(const Reach& reach) {
        for (const Reached& reached : reach.list)
            for (const Stance& pose : reached.poses) {
                add_bits(static_cast<std::uint64_t>(pose.shape));
                for (const std::int32_t body : pose.under)
                    add_bits(static_cast<std::uint64_t>(body));
                for (const ArmBlock& block : pose.arm)
                    add_bits(static_cast<std::uint64_t>(block.body) << 32U | block.first << 16U | block.last);
            }
    }
    void add(const Fits& fits) {
        for (const Fit& fit : fits.list) {
            add_bits(static_cast<std::uint64_t>(fit.verdict));
            add(fit.engaged_mm);
        }
    }
    void add(const Explosion& explosion) {
        for (const auto& legs : explosion.legs)
            for (const ExplodeLeg& leg : legs)
                add(leg.shift);
    }
    void add(const std::vector<Look>& looks) {
        for (const Look& look : looks) {
            add(look.camera.eye);
            add(look.measure);
        }
    }
    std::uint64_t value() const { return value_; }

private:
    std::uint64_t value_ = 0xcbf29ce484222325ULL;
};

std::size_t mesh_bytes(const Map& map) {
    std::size_t bytes = 0;
    for (const Mesh& mesh : map.meshes)
        for (const Primitive& primitive : mesh.primitives)
            bytes += primitive.positions.count * sizeof(Vec3) + primitive.normals.count * sizeof(Vec3) +
                     primitive.index_count * static_cast<std::size_t>(primitive.index_size);
    return bytes;
}

std::size_t triangles_of(const Map& map) {
    std::size_t count = 0;
    for (const Mesh& mesh : map.meshes)
        count += mesh.triangle_count;
    return count;
}

/// Every question of a map with an order, in every state of it.
std::uint64_t all_questions(const Map& map, const Job& job, const Plan& plan, int threads, Times& times) {
    const Effort effort{threads, {}};
    Digest digest;
    Solids solids;
    std::vector<State> states{as_found(job)};
    std::vector<Arrangement> arrangements;
    std::vector<LoweredCase> lowered;
    times.take("bodies and states", [&] {
        solids = make_solids(map, effort);
        for (const Step& step : plan.steps) {
            states.push_back(states.back());
            apply_step(job, states.back(), step);
        }
        for (const State& state : states)
            arrangements.push_back(arrange(job, solids, state));
        lowered = lowered_cases(job, solids, plan);
    });
    times.take("hidden", [&] {
        const Sights sights = measure_sights(solids, lowered, effort);
        for (std::size_t i = 0; i < arrangements.size(); ++i) {
            digest.add(seen(sights, arrangements[i]));
            digest.add_bits(hidden_in(sights, solids, arrangements, i).size());
        }
    });
    times.take("reach", [&] {
        const Reach reach = find_reach(solids, lowered, home_box(), effort);
        digest.add(reach);
        for (const Arrangement& arrangement : arrangements)
            for (const Fastener& fastener : map.fasteners)
                for (const Use use : {Use::turn, Use::hold, Use::loosen, Use::tighten})
                    digest.add_bits(
                        static_cast<std::uint64_t>(judge_reach(reach, fastener.item, use, arrangement).verdict));
    });
    times.take("ways out", [&] {
        const std::vector<Leaving> list = leavings(job, solids, plan);
        for (const WayFound& found : ways_of(job, solids, list, 240, effort))
            digest.add(found.out);
    });
    times.take("balance", [&] {
        const Masses masses = weigh(solids, effort);
        digest.add(masses);
        for (const BalanceLine& line : balance_lines(job, solids, masses, plan))
            digest.add(line.hanging.balanced.past_m);
    });
    times.take("explode", [&] { digest.add(explode(solids, apart_of(job, solids, plan), effort)); });
    times.take("where to look from", [&] {
        std::vector<LookWish> wishes;
        for (std::size_t i = 0; i < plan.steps.size(); ++i) {
            LookWish& wish = wishes.emplace_back();
            wish.from = plan.steps[i].from;
            wish.arrangement = arrangements[i];
            for (const ItemId item : plan.steps[i].items)
                if (!map.is_task(item))
                    wish.items.push_back(item);
        }
        digest.add(look(solids, make_surfaces(solids, effort), wishes, {}, effort));
    });
    times.take("fit", [&] { digest.add(fit_of(solids, effort)); });
    return digest.value();
}

bool big_map() {
    const auto map = read_map(BOLTWALK_SOURCE_DIR "/assets/transfer_box.glb");
    if (!map) {
        std::printf("%s\n", map.error().text.c_str());
        return false;
    }
    const Job job = prepare(*map);
    const Plan plan = plan_strip(job);
    std::printf("big map: %zu fasteners, %zu parts, %zu steps, %zu triangles\n", map->fasteners.size(),
                map->parts.size(), plan.steps.size(), triangles_of(*map));
    Times best;
    std::uint64_t two = 0;
    for (int round = 0; round < 5; ++round) {
        Times times;
        two = all_questions(*map, job, plan, 2, times);
        if (round == 0 || times.sum().processor < best.sum().processor)
            best = times;
    }
    const double mesh = static_cast<double>(mesh_bytes(*map));
    for (const auto& [question, spent, most] : best.lines)
        std::printf("  %-20s %6.1f ms on the clock, %6.1f ms of processors, memory up to %4.1f times the meshes\n",
                    question, 1e3 * spent.wall, 1e3 * spent.processor, static_cast<double>(most) / mesh);
    // Two cores for a second: a loaded machine stretches the clock, not what the processors do.
    std::printf("  all but the two orders: %.2f of the second on the clock, %.2f of its two cores' time\n",
                best.sum().wall, best.sum().processor / 2);
    Times orders;
    orders.take("only what must come off", [&] {
        for (const Part& part : map->parts)
            if (!part.fixed)
                plan_fewest(job, part.item);
    });
    orders.take("least crawling", [&] { plan_least_crawling(job, plan); });
    for (const auto& [question, spent, most] : orders.lines)
        std::printf("  %-24s %.2f of the five seconds on the clock\n", question, spent.wall / 5);
    Times alone;
    const bool same = all_questions(*map, job, plan, 1, alone) == two;
    std::printf("  on one thread: %s (%016llx), %.2f of the time on the clock is %.2f\n",
                same ? "the same answers, bit by bit" : "OTHER ANSWERS", static_cast<unsigned long long>(two),
                best.sum().wall, alone.sum().wall);
    return same;
}

/// A plate of 80 by 80 mm, its faces cut into a grid, uneven as a casting above.
std::vector<glm::vec3> ribbed(int triangles, Dice& dice) {
    const int across = std::max(2, static_cast<int>(std::sqrt(triangles / 4.0)));
    std::vector<float> heights(static_cast<std::size_t>(across + 1) * static_cast<std::size_t>(across + 1));
    for (float& height : heights)
        height = static_cast<float>(dice.between(0.012, 0.016));
    std::vector<glm::vec3> corners;
    const auto point = [&](int i, int k, bool top) {
        const auto place = [&](int n) { return 0.08F * (static_cast<float>(n) / static_cast<float>(across) - 0.5F); };
        return glm::vec3(place(i), top ? heights[static_cast<std::size_t>(i * (across + 1) + k)] : 0.0F, place(k));
    };
    const auto quad = [&](const glm::vec3& a, const glm::vec3& b, const glm::vec3& c, const glm::vec3& d) {
        for (const glm::vec3& p : {a, b, c, a, c, d})
            corners.push_back(p);
    };
    for (int i = 0; i < across; ++i) {
        for (int k = 0; k < across; ++k) {
            quad(point(i, k, true), point(i, k + 1, true), point(i + 1, k + 1, true), point(i + 1, k, true));
            quad(point(i, k, false), point(i + 1, k, false), point(i + 1, k + 1, false), point(i, k + 1, false));
        }
        quad(point(i, 0, false), point(i, 0, true), point(i + 1, 0, true), point(i + 1, 0, false));
        quad(point(i + 1, across, false), point(i + 1, across, true), point(i, across, true), point(i, across, false));
        quad(point(0, i + 1, false), point(0, i + 1, true), point(0, i, true), point(0, i, false));
        quad(point(across, i, false), point(across, i, true), point(across, i + 1, true), point(across, i + 1, false));
    }
    return corners;
}

/// Four bolts a part; parts stand in a grid of even density, each on a slab that stays, so near under the next that few
/// tools fit between.
void make(testing::Model& model, int fasteners) {
    Dice dice(static_cast<std::uint64_t>(fasteners));
    const int parts = fasteners / 4;
    model.map.items.reserve(static_cast<std::size_t>(fasteners + 2 * parts));
    const int side = static_cast<int>(std::ceil(std::cbrt(static_cast<double>(parts))));
    const Drive hex_13 = read_drive("hex 13").value();
    const std::int32_t slab_mesh = model.box({0.1F, 0.02F, 0.1F});
    for (int p = 0; p < parts; ++p) {
        const glm::dvec3 place = glm::dvec3(0.13, 0.07, 0.13) * glm::dvec3(p % side, p / side % side, p / side / side);
        const ItemId slab = model.part("slab " + std::to_string(p), slab_mesh, place - glm::dvec3(0, 0.01, 0), true);
        const ItemId part = model.part("part " + std::to_string(p), model.mesh(ribbed(1600, dice)), place);
        for (int b = 0; b < 4; ++b) {
            const glm::dvec3 at = place + glm::dvec3(b % 2 ? 0.025 : -0.025, -0.004, b / 2 ? 0.025 : -0.025);
            // A mesh of its own each, of 96 and 96 triangles.
            model.fastener("bolt " + std::to_string(4 * p + b), model.rods({{0.004F, 0.02F}, {0.0075F, 0.0053F}}, 24),
                           testing::at(at.x, at.y, at.z), {part, slab});
            Fastener& fastener = model.map.fasteners.back();
            fastener.kind = FastenerKind::bolt;
            fastener.axis = {0, 1, 0};
            fastener.head = "hex";
            fastener.drive = hex_13;
            fastener.thread = Thread{ThreadSeries::iso_coarse, 8, 1.25, "M8"};
        }
    }
}

/// Every question as found: what states make of the answers is a matter of looking them up.
std::uint64_t as_it_stands(const Map& map, int threads, Times& times) {
    const Effort effort{threads, {}};
    Digest digest;
    Solids solids;
    times.take("bodies", [&] { solids = make_solids(map, effort); });
    times.take("hidden", [&] {
        const Sights sights = measure_sights(solids, {}, effort);
        digest.add(seen(sights, Arrangement{}));
    });
    times.take("reach", [&] { digest.add(find_reach(solids, {}, home_box(), effort)); });
    times.take("ways out", [&] {
        std::vector<WayAsked> asked;
        for (const Part& part : map.parts)
            if (!part.fixed)
                asked.push_back(
                    {part.item, {solids.body_of[static_cast<std::size_t>(part.item.index)]}, {{0, 0.1, 0}}});
        for (const Fastener& fastener : map.fasteners)
            asked.push_back(drawn(solids, fastener.item));
        const WaySpace space = make_way_space(solids, asked, {}, effort);
        for (const WaysOut& out : sweep_ways(space, asked, effort))
            digest.add(out);
    });
    times.take("balance", [&] { digest.add(weigh(solids, effort)); });
    times.take("explode", [&] {
        std::vector<Apart> list;
        for (const Part& part : map.parts)
            if (!part.fixed)
                list.push_back({part.item,
                                {solids.body_of[static_cast<std::size_t>(part.item.index)]},
                                -1,
                                {{{0, 1, 0}, {0, 0, 0}}, {{1, 0, 0}, {0, 0, 0}}},
                                0,
                                false});
        digest.add(explode(solids, list, effort));
    });
    times.take("where to look from", [&] {
        std::vector<LookWish> wishes;
        for (const Part& part : map.parts)
            if (!part.fixed)
                wishes.push_back({{part.item}, Place::over, {}});
        digest.add(look(solids, make_surfaces(solids, effort), wishes, {}, effort));
    });
    times.take("fit", [&] { digest.add(fit_of(solids, effort)); });
    return digest.value();
}

bool growth(int most, int least) {
    std::printf(
        "\ngrowth: four bolts a part, every mesh its own; exponents from one size to the next, 1.30 is allowed\n");
    Times last;
    int last_count = 0;
    bool good = true;
    for (int count = least; count <= most; count *= 10) {
        testing::Model model;
        make(model, count);
        const Map& map = model.map;
        const double mesh = static_cast<double>(mesh_bytes(map));
        Times times;
        const std::uint64_t two = as_it_stands(map, 2, times);
        const double memory = static_cast<double>(times.most()) / mesh;
        std::printf("%6d fasteners, %5d parts, %8zu triangles, meshes of %.0f MB: %.2f s of processors, %.2f s on the "
                    "clock, memory at most %.2f times the meshes\n",
                    count, count / 4, triangles_of(map), mesh / 1e6, times.sum().processor, times.sum().wall, memory);
        good = good && memory <= 4;
        for (std::size_t i = 0; i < times.lines.size(); ++i) {
            std::printf("    %-20s %9.1f ms of processors, memory up to %.2f", times.lines[i].question,
                        1e3 * times.lines[i].spent.processor, static_cast<double>(times.lines[i].most) / mesh);
            if (last_count > 0)
                std::printf(", n^%.2f", std::log10(times.lines[i].spent.processor / last.lines[i].spent.processor));
            std::printf("\n");
        }
        if (last_count > 0) {
            const double exponent = std::log10(times.sum().processor / last.sum().processor);
            std::printf("    all together n^%.2f\n", exponent);
            good = good && exponent <= 1.3;
        }
        if (count <= 1000) {
            Times alone;
            const bool same = as_it_stands(map, 1, alone) == two;
            std::printf("    on one thread: %s (%016llx)\n", same ? "the same answers, bit by bit" : "OTHER ANSWERS",
                        static_cast<unsigned long long>(two));
            if (!same)
                std::exit(1);
        }
        last = times;
        last_count = count;
    }
    std::printf("%s\n", good ? "grows within what is allowed" : "GROWS BEYOND WHAT IS ALLOWED");
    return good;
}

} // namespace

int main(int count, char** arguments) {
    std::setvbuf(stdout, nullptr, _IOLBF, 0); // a long run is read while it goes
    const std::string what = count > 1 ? arguments[1] : "";
    const auto number = [&](int place, int otherwise) {
        return count > place ? std::atoi(arguments[place]) : otherwise;
    };
    bool same = true;
    if (what != "growth")
        same = big_map();
    if (what != "map")
        growth(number(2, 10000), std::max(1, number(3, 100)));
    return same ? 0 : 1;
}

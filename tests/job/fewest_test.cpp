// The fewest items that free a part: known answers, and small assemblies by brute force over the rules themselves.
#include <map>
#include <set>

#include <doctest/doctest.h>

#include "core/job/least.hpp"
#include "tests/shared/random_assembly.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

using Names = std::vector<std::string>;

Names names_of(const Map& map, std::vector<ItemId> items) {
    std::sort(items.begin(), items.end());
    Names names;
    for (const ItemId id : items)
        names.push_back(map[id].name);
    return names;
}

bool counts(Verb verb) {
    return verb == Verb::take_out || verb == Verb::loosen || verb == Verb::take_off || verb == Verb::set_aside ||
           verb == Verb::let_down;
}

/// Replays a plan: every action legal in its turn. Returns how many items count, or -1.
int replayed(const Job& job, const Plan& plan) {
    State state = as_found(job);
    int items = 0;
    const auto act = [&](const Action& action) {
        if (!judge(job, state, action).empty())
            return false;
        apply(job, state, action);
        items += counts(action.verb) ? 1 : 0;
        return true;
    };
    for (const Step& step : plan.steps) {
        if (step.verb == Verb::set_vehicle && !act({step.verb, {}, step.vehicle}))
            return -1;
        for (const ItemId item : step.items)
            if (!act({step.verb, item, {}}))
                return -1;
    }
    return items;
}

/// The way in which the map says that an item leaves.
Action own_way(const Map& map, ItemId id) {
    if (map.is_fastener(id))
        return {map.fastener(id).leaves_with || map.fastener(id).frees_when == FreesWhen::slack ? Verb::loosen
                                                                                                : Verb::take_out,
                id,
                {}};
    const Part& part = map.part(id);
    return {!part.aside.empty() ? Verb::set_aside : part.lower_mm ? Verb::let_down : Verb::take_off, id, {}};
}

/// Every set of items that come off, in every order, by what it counts: the least that frees the part, the part itself
/// not counted; -1 when nothing does. What is only prepared (props, marks, oil, fluids, the vehicle) is free.
int brute_force(const Job& job, ItemId goal) {
    const Map& map = *job.map;
    std::vector<Action> counted, free;
    for (const Part& part : map.parts) {
        if (!part.fixed && part.item != goal)
            counted.push_back(own_way(map, part.item));
        for (const Verb verb : {Verb::mark, Verb::unload, Verb::prop})
            free.push_back({verb, part.item, {}});
        if (job.drain_plugs[static_cast<std::size_t>(map[part.item].detail)].empty())
            free.push_back({Verb::drain, part.item, {}});
    }
    for (const Fastener& fastener : map.fasteners) {
        if (fastener.frees_when != FreesWhen::nut_off)
            counted.push_back(own_way(map, fastener.item));
        free.push_back({Verb::soak, fastener.item, {}});
        if (fastener.kind == FastenerKind::fill_plug)
            free.push_back({Verb::prove, fastener.item, {}});
    }
    const auto prepare = [&](State& state) {
        for (bool again = true; again;) {
            again = false;
            for (const Action& action : free)
                if (judge(job, state, action).empty()) {
                    apply(job, state, action);
                    again = true;
                }
        }
    };
    State begin = as_found(job);
    begin.vehicle.stands = begin.vehicle.chocked = Ask::yes; // nothing in these assemblies asks for wheels down
    prepare(begin);
    using Key = std::tuple<std::vector<FastenerState>, std::vector<PartState>, std::vector<ItemId>>;
    std::set<Key> seen;
    std::vector<State> level{begin};
    for (int count = 0; !level.empty(); ++count) {
        std::vector<State> next;
        for (const State& state : level) {
            if (judge(job, state, own_way(map, goal)).empty())
                return count;
            for (const Action& action : counted) {
                if (!judge(job, state, action).empty())
                    continue;
                State then = state;
                apply(job, then, action);
                prepare(then);
                if (seen.insert({then.fasteners, then.parts, then.went_with}).second)
                    next.push_back(std::move(then));
            }
        }
        level = std::move(next);
    }
    return -1;
}

void dress(Build& b, std::uint64_t seed) {
    Lots dice(seed + 4711);
    for (Part& part : b.map.parts) {
        if (part.fixed)
            continue;
        if (dice.chance(15))
            part.support = "jack";
        if (dice.chance(10))
            part.aside = "left 200 mm";
        if (dice.chance(10))
            part.flexible = true;
        if (dice.chance(10))
            part.fluid = "oil";
        if (dice.chance(10))
            part.adjust = true;
        if (dice.chance(10))
            part.loaded = "spring";
    }
    for (Fastener& fastener : b.map.fasteners) {
        if (fastener.kind != FastenerKind::bolt)
            continue;
        if (dice.chance(10))
            fastener.soak_min = 10;
        if (dice.chance(10))
            fastener.frees_when = FreesWhen::slack;
        if (dice.chance(8) && !fastener.holds.empty())
            fastener.kind = FastenerKind::drain_plug;
    }
}

} // namespace

TEST_CASE("a bracket that leaves along: two bolts to what stays instead of four to the part") {
    Build b;
    b.part("body", true);
    b.part("bracket");
    b.part("pump");
    for (const char* name : {"a", "b", "c", "d"})
        b.fastener(name, {"pump", "bracket"});
    b.fastener("x", {"bracket", "body"});
    b.fastener("y", {"bracket", "body"});
    const Job job = prepare(b.map);
    const Fewest fewest = plan_fewest(job, b.at("pump"));
    CHECK(names_of(b.map, fewest.items) == Names{"x", "y"});
    CHECK(fewest.proven);
    CHECK(fewest.at_least == 2);
    CHECK(replayed(job, fewest.plan) == 3);
    CHECK(fewest.plan.end.went_with[1] == b.at("pump"));
}

TEST_CASE("the narrowest cut through a chain of parts") {
    Build b;
    b.part("body", true);
    const char* parts[] = {"body", "p1", "p2", "p3", "p4"};
    const int bolts[] = {5, 4, 2, 3};
    int name = 0;
    for (int i = 0; i < 4; ++i) {
        b.part(parts[i + 1]);
        for (int k = 0; k < bolts[i]; ++k)
            b.fastener("f" + std::to_string(name++), {parts[i + 1], parts[i]});
    }
    const Job job = prepare(b.map);
    CHECK(names_of(b.map, plan_fewest(job, b.at("p4")).items) == Names{"f9", "f10"});
    CHECK(plan_fewest(job, b.at("p4")).proven);
    // Three bolts that each wait for the cover make the wider cut the cheaper one.
    b.part("cover");
    for (const char* bolt : {"c1", "c2", "c3"})
        b.fastener(bolt, {"cover", "body"});
    b.after("f9", {"cover"});
    const Job covered = prepare(b.map);
    const Fewest fewest = plan_fewest(covered, b.at("p4"));
    CHECK(names_of(b.map, fewest.items) == Names{"f11", "f12", "f13"});
    CHECK(fewest.proven);
    CHECK(replayed(covered, fewest.plan) == 4);
}

TEST_CASE("what leaves along takes its fluid with it: its drain plug counts") {
    Build b;
    b.part("body", true);
    b.part("box").fluid = "gear oil";
    b.part("flange");
    for (const char* name : {"a", "b", "c"})
        b.fastener(name, {"flange", "box"});
    b.fastener("mount", {"box", "body"});
    b.fastener("drain", {"box"}, FastenerKind::drain_plug);
    const Job job = prepare(b.map);
    const Fewest fewest = plan_fewest(job, b.at("flange"));
    CHECK(names_of(b.map, fewest.items) == Names{"mount", "drain"});
    CHECK(fewest.proven);
    CHECK(replayed(job, fewest.plan) == 3);
}

TEST_CASE("pins, nuts and washers count; props, marks and tasks do not, and come in their turn") {
    Build b;
    b.part("body", true);
    Part& box = b.part("box");
    box.support = "jack";
    box.adjust = true;
    b.fastener("castle", {"box", "body"}, FastenerKind::castle_nut);
    b.fastener("pin", {}, FastenerKind::split_pin).secures = {b.at("castle")};
    b.task("prop", TaskDoes::prop, {"box"});
    b.part("cover");
    b.fastener("cover_bolt", {"cover", "body"});
    b.after("prop", {"cover"});
    const Job job = prepare(b.map);
    const Fewest fewest = plan_fewest(job, b.at("box"));
    CHECK(names_of(b.map, fewest.items) == Names{"castle", "pin", "cover", "cover_bolt"});
    CHECK(fewest.proven);
    const Names order = names_in(b.map, fewest.plan, {Verb::do_task, Verb::take_off, Verb::take_out, Verb::mark});
    CHECK(place_of(order, "cover") < place_of(order, "prop"));
    CHECK(place_of(order, "prop") < place_of(order, "castle"));
    CHECK(replayed(job, fewest.plan) == 5);
}

TEST_CASE("a ring and a gasket that are laid bare come along, and are not counted") {
    Build b;
    b.part("body", true);
    b.part("pump");
    b.part("gasket").renew = true;
    b.fastener("bolt", {"pump", "gasket", "body"}).joint = "j";
    b.fastener("washer", {"pump", "body"}, FastenerKind::washer).joint = "j";
    const Job job = prepare(b.map);
    const Fewest fewest = plan_fewest(job, b.at("pump"));
    CHECK(names_of(b.map, fewest.items) == Names{"bolt", "washer"}); // the washer would fall
    CHECK(names_of(b.map, fewest.also) == Names{"gasket"});
    CHECK(fewest.proven);
    CHECK(replayed(job, fewest.plan) == 4);
}

TEST_CASE("nothing is called fewest that is not proven") {
    const Build b = random_assembly(3, {.parts = 10, .nested = true});
    const Job job = prepare(b.map);
    const Fewest cut_short = plan_fewest(job, b.at("p9"), {.budget = 1});
    CHECK(!cut_short.proven);
    CHECK(cut_short.at_least <= cut_short.items.size());
    Build locked;
    locked.part("body", true);
    locked.part("a");
    locked.part("b");
    locked.fastener("fa", {"a", "body"});
    locked.fastener("fb", {"b", "body"});
    locked.after("fa", {"b"});
    locked.after("fb", {"a"});
    const Fewest none = plan_fewest(prepare(locked.map), locked.at("a"));
    CHECK(!none.proven);
    CHECK(rules_of(none.plan.findings) == Names{"lock"});
    CHECK(rules_of(plan_fewest(prepare(locked.map), locked.at("body")).plan.findings) == Names{"cannot-come-off"});
}

TEST_CASE("a bound that the lower view cannot meet is told as a bound") {
    // Undone, the joint `held` lets go of the shaft that the nut is held through: the two have no order together.
    Build b;
    b.part("body", true);
    b.part("shaft");
    b.part("flange");
    b.fastener("held", {"shaft", "body"});
    Fastener& nut = b.fastener("nut", {"flange", "body"}, FastenerKind::nut);
    nut.held_through = {b.at("shaft")};
    b.after("nut", {"shaft"});
    const Fewest fewest = plan_fewest(prepare(b.map), b.at("flange"));
    CHECK(!fewest.proven);
}

TEST_CASE("fewest against brute force on small random assemblies") {
    int judged = 0, proven = 0, fewer = 0, none = 0;
    for (std::uint64_t seed = 0; seed < 4000; ++seed) {
        RandomSettings settings;
        settings.parts = 2 + static_cast<int>(seed % 4);
        settings.nested = seed % 4 != 3;
        settings.forward_only = seed % 5 != 0;
        settings.after_percent = 10 + 15 * static_cast<int>(seed % 3);
        Build b = random_assembly(seed, settings);
        if (seed % 2 == 1)
            dress(b, seed);
        if (b.map.fasteners.size() + b.map.parts.size() > 12)
            continue;
        for (Item& item : b.map.items)
            item.from = Place::not_stated;
        CAPTURE(seed);
        const Job job = prepare(b.map);
        Lots dice(seed + 99);
        const ItemId goal = b.at("p" + std::to_string(dice.below(settings.parts)));
        const int least = brute_force(job, goal);
        const Fewest fewest = plan_fewest(job, goal);
        ++judged;
        if (least < 0) {
            CHECK(!fewest.proven);
            ++none;
            continue;
        }
        CHECK(fewest.at_least <= static_cast<std::size_t>(least));
        CHECK(fewest.items.size() >= static_cast<std::size_t>(least));
        if (fewest.proven) {
            CHECK(fewest.items.size() == static_cast<std::size_t>(least));
            CHECK(replayed(job, fewest.plan) == least + 1 + static_cast<int>(fewest.also.size()));
            ++proven;
        }
        fewer += names_in(b.map, plan_strip(job, goal), {Verb::take_out, Verb::loosen, Verb::take_off, Verb::set_aside})
                             .size() > fewest.items.size() + 1
                     ? 1
                     : 0;
    }
    MESSAGE(judged << " judged, " << none << " cannot be, " << proven << " proven, " << fewer
                   << " fewer than the order from the rules");
    CHECK(judged > 800);
    CHECK(proven * 100 > (judged - none) * 95);
    CHECK(fewer > 50);
}

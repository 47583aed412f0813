// Estimates made from a map's shapes: the bridge from the job to core/geometry's reach and ways.
#include "core/job/estimated.hpp"

#include <algorithm>
#include <utility>

#include "core/geometry/fit.hpp"
#include "core/job/inside.hpp"
#include "core/job/shapes.hpp"
#include "core/job/ways.hpp"

namespace boltwalk {

using namespace inside;

namespace {

/// How far a way is looked for where none is stated: legs swept for each part. More finds more crooked ways, and takes
/// longer where there is none.
constexpr int search_queries = 60;

/// Which ways to measure: what to sweep, and for which states that is good.
struct Wanted {
    std::vector<Leaving> list;
    std::vector<Estimate> about; ///< what is known of the answer: on_bench, moved
};

class Ways {
public:
    Ways(const Job& job, const Solids& solids) : job_(job), map_(*job.map), solids_(solids) {}

    std::vector<Estimate> find(const Plan& plan, const Effort& effort) {
        std::vector<std::uint8_t> known(map_.items.size(), 0);
        for (Leaving& leaving : leavings(job_, solids_, plan)) {
            if (leaving.verb == Verb::loosen || leaving.comes_with)
                continue; // it goes nowhere by itself
            known[at(leaving.asked.item.index)] = 1;
            want(std::move(leaving));
        }
        const State begin = as_found(job_);
        for (std::size_t i = 0; i < map_.items.size(); ++i) {
            const ItemId id{static_cast<std::int32_t>(i)};
            const auto goal = strip_goal(job_, id);
            if (known[i] != 0 || !goal || solids_.body_of[i] < 0 ||
                (goal->verb != Verb::take_out && !leaves(goal->verb)))
                continue;
            want(leaving_at(job_, solids_, begin, id, goal->verb));
        }
        // Only where none is stated one is looked for: stated, it is the one that will be gone.
        std::vector<Estimate> list;
        for (const bool stated : {true, false}) {
            const Wanted& wanted = stated ? stated_ : unstated_;
            const std::vector<WayFound> found =
                ways_of(job_, solids_, wanted.list, stated ? 0 : search_queries, effort);
            for (std::size_t i = 0; i < found.size(); ++i)
                take(wanted.about[i], wanted.list[i], found[i], list);
        }
        return list;
    }

private:
    /// With everything in its place, and, where something hangs lowered or lies aside by then, so as well.
    void want(Leaving leaving) {
        std::vector<ItemId> moved;
        for (const Part& part : map_.parts)
            if (const std::int32_t body = solids_.body_of[at(part.item.index)];
                body >= 0 && leaving.state.shift[at(body)] != glm::dvec3(0.0) && leaving.state.there[at(body)])
                moved.push_back(part.item);
        Estimate about;
        about.item = leaving.asked.item;
        about.on_bench = leaving.bench;
        if (!leaving.bench) {
            Leaving in_place = leaving;
            std::fill(in_place.state.there.begin(), in_place.state.there.end(), std::uint8_t{1});
            std::fill(in_place.state.shift.begin(), in_place.state.shift.end(), glm::dvec3(0.0));
            add(std::move(in_place), about);
            about.moved = moved;
        }
        if (leaving.bench || !moved.empty())
            add(std::move(leaving), std::move(about));
    }

    void add(Leaving leaving, Estimate about) {
        Wanted& wanted = leaving.asked.legs.empty() ? unstated_ : stated_;
        wanted.list.push_back(std::move(leaving));
        wanted.about.push_back(std::move(about));
    }

    void take(const Estimate& about, const Leaving& leaving, const WayFound& found, std::vector<Estimate>& list) const {
        if (found.out.ways.empty())
            return;
        Estimate estimate = estimate_of(solids_, found.out);
        estimate.on_bench = about.on_bench;
        estimate.moved = about.moved;
        const std::int32_t own = solids_.body_of[at(about.item.index)];
        if (!about.moved.empty() && leaving.state.shift[at(own)] == glm::dvec3(0.0))
            for (Alternative& alternative : estimate.alternatives)
                only_moved(alternative, about.moved);
        const bool says_something = std::any_of(estimate.alternatives.begin(), estimate.alternatives.end(),
                                                [](const Alternative& one) { return one.never || !one.gone.empty(); });
        if (says_something)
            list.push_back(std::move(estimate));
    }

    /// What is in its own place is the other estimate's affair.
    void only_moved(Alternative& alternative, const std::vector<ItemId>& moved) const {
        const auto in_place = [&](ItemId id) {
            if (!map_.is_fastener(id))
                return !names(moved, id);
            const auto holds = job_.holds[slot(job_, id)];
            return std::none_of(holds.begin(), holds.end(), [&](ItemId part) { return names(moved, part); });
        };
        std::erase_if(alternative.gone, in_place);
        alternative.stays.clear();
        alternative.scenery.clear();
        alternative.never = false;
    }

    const Job& job_;
    const Map& map_;
    const Solids& solids_;
    Wanted stated_, unstated_;
};

} // namespace

namespace {

/// `reach` as it was found in `cases`, which are those of `plan`.
Estimates estimates_of(const Job& job, const Solids& solids, const Plan& plan, const std::vector<LoweredCase>& cases,
                       const Reach& reach, const Effort& effort) {
    std::vector<ItemId> low;
    for (const Part& part : job.map->parts)
        if (const std::int32_t body = solids.body_of[at(part.item.index)]; body >= 0)
            if (std::any_of(cases.begin(), cases.end(),
                            [&](const LoweredCase& one) { return one.shift[at(body)] != glm::dvec3(0.0); }))
                low.push_back(part.item);
    Estimates estimates;
    estimates.list = reach_estimates(reach);
    for (Estimate& estimate : estimates.list)
        estimate.measured_low = low;
    std::erase_if(estimates.list, [](const Estimate& estimate) {
        return std::any_of(estimate.alternatives.begin(), estimate.alternatives.end(), [](const Alternative& one) {
            return !one.never && one.gone.empty() && one.lowered.empty();
        });
    });
    for (Estimate& estimate : Ways(job, solids).find(plan, effort))
        estimates.list.push_back(std::move(estimate));
    estimates.doubts = plain_length_doubts(solids, fit_of(solids, {effort.threads, {}}));
    return estimates;
}

} // namespace

Estimates find_estimates(const Job& job, const Solids& solids, const ToolBox& box, const Effort& effort) {
    const Plan plan = plan_strip(job);
    const std::vector<LoweredCase> cases = lowered_cases(job, solids, plan);
    return estimates_of(job, solids, plan, cases, find_reach(solids, cases, box, effort, false), effort);
}

Measured job_and_shapes(const Map& map, bool torques, const Effort& effort) {
    Measured measured{prepare(map), make_solids(map, effort), {}, {}};
    const Plan plan = plan_strip(measured.job);
    measured.cases = lowered_cases(measured.job, measured.solids, plan);
    measured.reach = find_reach(measured.solids, measured.cases, home_box(), effort, torques);
    reckon_with(measured.job,
                estimates_of(measured.job, measured.solids, plan, measured.cases, measured.reach, effort));
    return measured;
}

std::optional<Estimates> ask_shapes(const Job& job, const Effort& effort) {
    bool stopped = false;
    Effort asked = effort;
    if (effort.progress)
        asked.progress = [&](float share) {
            stopped = stopped || !effort.progress(share);
            return !stopped;
        };
    const Solids solids = make_solids(*job.map, asked);
    if (stopped)
        return std::nullopt;
    Estimates estimates = find_estimates(job, solids, home_box(), asked);
    if (stopped)
        return std::nullopt;
    return estimates;
}

Job job_with_shapes(const Map& map, const Effort& effort) {
    Job job = prepare(map);
    if (auto estimates = ask_shapes(job, effort))
        reckon_with(job, std::move(*estimates));
    return job;
}

} // namespace boltwalk

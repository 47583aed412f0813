// The rules against assemblies that no author would write: every relation to anything, rings of all kinds. Nothing may
// crash, hang or leave an index out of range, and a plan's own actions must be replayable. Maps are built from the
// bytes directly, so that every input is one.
#include <cstddef>
#include <cstdint>
#include <cstdlib>

#include "core/job/estimated.hpp"
#include "core/job/job.hpp"

using namespace boltwalk;

namespace {

class Bytes {
public:
    Bytes(const std::uint8_t* data, std::size_t size) : data_(data), size_(size) {}
    bool empty() const { return at_ >= size_; }
    int below(int count) { return empty() || count <= 0 ? 0 : data_[at_++] % count; }
    bool chance() { return below(4) == 1; }

private:
    const std::uint8_t* data_;
    std::size_t size_;
    std::size_t at_ = 0;
};

Ask any_ask(Bytes& in) {
    return static_cast<Ask>(in.below(3));
}

VehicleAsk any_vehicle(Bytes& in) {
    if (!in.chance())
        return {};
    return {any_ask(in), any_ask(in), any_ask(in), any_ask(in), any_ask(in), any_ask(in)};
}

struct Maker {
    Bytes in;
    Map map;
    int parts = 0, fasteners = 0, tasks = 0;

    ItemId part() { return {in.below(parts)}; }
    ItemId fastener() { return {parts + in.below(fasteners)}; }
    ItemId any() { return {in.below(parts + fasteners + tasks)}; }

    template <typename Pick>
    std::vector<ItemId> some(int most, const Pick& pick) {
        std::vector<ItemId> list;
        for (int i = in.below(most + 1); i > 0; --i) {
            const ItemId id = pick();
            bool known = false;
            for (const ItemId other : list)
                known = known || other == id;
            if (!known)
                list.push_back(id);
        }
        return list;
    }

    void common(Item& item) {
        item.from = static_cast<Place>(in.below(8));
        if (in.chance())
            item.step = in.below(12);
        if (in.chance())
            item.after = some(2, [&] { return any(); });
        if (in.chance())
            item.refit_after = some(2, [&] { return any(); });
        if (in.chance())
            item.refit_free = some(2, [&] { return any(); });
        item.needs = any_vehicle(in);
    }

    void fill(Part& p) {
        p.fixed = in.chance();
        p.flexible = in.chance();
        p.adjust = in.chance();
        p.transfer = in.chance();
        if (in.chance())
            p.lower_mm = 50;
        if (in.chance())
            p.aside = "left";
        if (in.chance())
            p.support = "jack";
        if (in.chance() && fasteners > 0)
            p.carried_by = some(2, [&] { return fastener(); });
        if (in.chance())
            p.loaded = "spring";
        if (in.chance())
            p.fluid = "oil";
        if (in.chance())
            p.opens = some(2, [&] { return part(); });
    }

    void fill(Fastener& f) {
        f.kind = static_cast<FastenerKind>(in.below(20));
        f.holds = some(3, [&] { return part(); });
        if (in.chance())
            f.joint = std::string(1, static_cast<char>('a' + in.below(3)));
        if (in.chance())
            f.stack = in.below(5);
        if (in.chance())
            f.turn = in.chance() ? "head" : "nut";
        if (in.chance())
            f.secures = some(2, [&] { return fastener(); });
        if (in.chance())
            f.held_through = some(1, [&] { return part(); });
        if (in.chance())
            f.counter = in.chance() ? "gear" : "brake";
        if (in.chance())
            f.torque_after = some(2, [&] { return any(); });
        f.torque_after_vehicle = any_vehicle(in);
        if (in.chance())
            f.soak_min = 10;
        f.frees_when = static_cast<FreesWhen>(in.below(3));
        if (in.chance())
            f.leaves_with = part();
        if (in.chance())
            f.captive_in = part();
    }

    void fill(Task& t) {
        t.when = static_cast<TaskWhen>(in.below(3));
        t.does = static_cast<TaskDoes>(in.below(9));
        t.to = some(3, [&] { return any(); });
        t.sets = any_vehicle(in);
    }

    void make() {
        parts = 1 + in.below(6);
        fasteners = in.below(9);
        tasks = in.below(4);
        const int count = parts + fasteners + tasks;
        for (int i = 0; i < count; ++i) {
            Item item;
            item.kind = i < parts ? ItemKind::part : i < parts + fasteners ? ItemKind::fastener : ItemKind::task;
            item.detail = i < parts ? i : i < parts + fasteners ? i - parts : i - parts - fasteners;
            item.node = i;
            item.name = "n" + std::to_string(i);
            item.group = in.below(4) - 1;
            map.items.push_back(item);
        }
        map.groups.resize(3);
        for (int i = 0; i < count; ++i) {
            Item& item = map.items[static_cast<std::size_t>(i)];
            common(item);
            if (item.group >= 0)
                map.groups[static_cast<std::size_t>(item.group)].members.push_back({i});
        }
        for (int i = 0; i < parts; ++i) {
            map.parts.emplace_back();
            map.parts.back().item = {i};
            fill(map.parts.back());
        }
        for (int i = 0; i < fasteners; ++i) {
            map.fasteners.emplace_back();
            map.fasteners.back().item = {parts + i};
            fill(map.fasteners.back());
        }
        for (int i = 0; i < tasks; ++i) {
            map.tasks.emplace_back();
            map.tasks.back().item = {parts + fasteners + i};
            fill(map.tasks.back());
        }
        if (in.chance())
            map.target = part();
    }
};

/// Anything in the way of anything, also of itself, and of what stays.
Estimates any_estimates(Maker& maker) {
    Estimates estimates;
    for (int i = maker.in.below(6); i > 0; --i) {
        Estimate one;
        one.item = maker.any();
        one.question = static_cast<Question>(maker.in.below(3));
        one.on_bench = maker.in.below(8) == 1;
        if (maker.in.chance())
            one.moved = maker.some(2, [&] { return maker.part(); });
        if (maker.in.chance())
            one.measured_low = maker.some(2, [&] { return maker.part(); });
        for (int a = maker.in.below(3); a > 0; --a) {
            Alternative alternative;
            alternative.gone = maker.some(3, [&] { return maker.any(); });
            if (maker.in.chance())
                alternative.lowered = maker.some(1, [&] { return maker.part(); });
            if (maker.in.below(8) == 1)
                alternative.stays = {maker.part()};
            alternative.never = !alternative.stays.empty();
            one.alternatives.push_back(alternative);
        }
        estimates.list.push_back(one);
    }
    return estimates;
}

bool has_fault(const Plan& plan) {
    for (const Finding& finding : plan.findings)
        if (finding.weight == Weight::fault)
            return true;
    return false;
}

void replays_to_its_end(const Job& job, State state, const Plan& plan) {
    bool faulty = false;
    for (const Finding& finding : plan.findings)
        faulty = faulty || finding.weight == Weight::fault;
    for (std::size_t i = 0; i < plan.steps.size(); ++i) {
        // An order without a fault is legal at every single action.
        for (const ItemId item : plan.steps[i].items) {
            if (!faulty && !judge(job, state, {plan.steps[i].verb, item, {}}).empty())
                std::abort();
            apply(job, state, {plan.steps[i].verb, item, {}});
        }
        if (plan.steps[i].items.empty())
            apply_step(job, state, plan.steps[i]);
        if (card_of(job, plan, i).headline.empty())
            std::abort();
    }
    if (state.fasteners != plan.end.fasteners || state.parts != plan.end.parts || state.done != plan.end.done)
        std::abort();
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    Maker maker{Bytes(data, size), {}};
    maker.make();
    const Job job = prepare(maker.map);
    check(job);
    const Plan strip = plan_strip(job);
    replays_to_its_end(job, as_found(job), strip);
    const Plan refit = plan_refit(job, strip);
    replays_to_its_end(job, refit_begin(strip), refit);
    for (std::int32_t i = 0; i < maker.parts; ++i) {
        plan_strip(job, {i});
        what_holds(job, strip.end, {i});
    }
    // With the shapes asked, too: an order without a fault stays one, and honours what was kept.
    Job both = prepare(maker.map);
    reckon_with(both, any_estimates(maker));
    const Plan plan = plan_strip(both);
    if (!plan.dropped.empty() || (has_fault(plan) && !has_fault(strip)))
        std::abort();
    replays_to_its_end(both, as_found(both), plan);
    const Plan back = plan_refit(both, plan);
    replays_to_its_end(both, refit_begin(plan), back);
    check(both);
    for (std::int32_t i = 0; i < maker.parts; ++i)
        plan_strip(both, {i});
    return 0;
}

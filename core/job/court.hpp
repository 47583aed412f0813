// Collects what stands in the way of one action; only the rules include this.
#pragma once

#include <algorithm>
#include <vector>

#include "core/job/inside.hpp"

namespace boltwalk::inside {

/// Collects objections, and stops asking when one is enough.
class Court {
public:
    Court(const Job& the_job, const State& the_state, bool first_only, bool is_at_first, bool is_stated_only)
        : job(the_job), map(*the_job.map), state(the_state), at_first(is_at_first), stated_only(is_stated_only),
          first_only_(first_only) {}

    bool settled() const { return first_only_ && !objections.empty(); }

    void object(Rule rule, ItemId by) {
        if (!settled())
            object(rule, std::vector<ItemId>{by});
    }

    void object(Rule rule, std::vector<ItemId> by) {
        if (settled() || by.empty())
            return;
        for (Objection& objection : objections)
            if (objection.rule == rule) {
                for (const ItemId id : by)
                    if (!names(objection.by, id))
                        objection.by.push_back(id);
                return;
            }
        std::sort(by.begin(), by.end());
        by.erase(std::unique(by.begin(), by.end()), by.end());
        objections.push_back({rule, std::move(by), {}});
    }

    void already(ItemId item) { objections.push_back({Rule::so_already, {item}, {}}); }

    void ask_vehicle(const Action& action) {
        const VehicleAsk lacks = missing(needs_now(job, state, action), state.vehicle);
        if (asks_anything(lacks) && !settled())
            objections.push_back({Rule::vehicle, {}, lacks});
    }

    const Job& job;
    const Map& map;
    const State& state;
    const bool at_first;    ///< fasteners and parts are as found
    const bool stated_only; ///< the shapes are not asked
    std::vector<Objection> objections;

private:
    bool first_only_;
};

inline FastenerState state_of(const Court& c, ItemId fastener) {
    return c.state.fasteners[slot(c.job, fastener)];
}
inline PartState part_state(const Court& c, ItemId part) {
    return c.state.parts[slot(c.job, part)];
}

// Asked on both ways.
void ask_after(Court&, ItemId item);
void ask_hold(Court&, ItemId fastener);

// What the shapes say (shapes_say.cpp).
void ask_shapes(Court&, const Action&);

// On the way out (rules_out.cpp).
void judge_undo(Court&, const Action&);
void judge_leave(Court&, const Action&);

// On the way back (rules_back.cpp).
void ask_refit_order(Court&, ItemId item);
void judge_start(Court&, const Action&);
void judge_tighten(Court&, const Action&);
void judge_return(Court&, const Action&);
void judge_fill(Court&, const Action&);
void judge_unprop(Court&, const Action&);

} // namespace boltwalk::inside

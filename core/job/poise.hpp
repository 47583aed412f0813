// What holds what, and about what it would tip: the bridge from states to core/geometry/balance.hpp.
#pragma once

#include <string>
#include <vector>

#include "core/geometry/balance.hpp"
#include "core/job/job.hpp"

namespace boltwalk {

/// A part and what hangs on it alone, in a state: what goes down with it, and what keeps it up.
struct Hanging {
    ItemId part;
    std::vector<ItemId> items;   ///< the part, the parts that hang on it alone, the fasteners between them
    std::vector<ItemId> held_by; ///< fasteners that are not freed, between it and what stays; of a joint the first
    std::vector<ItemId> props;   ///< parts of it that stand on a prop
    bool prop_shown = false;     ///< every prop's place is known: its `lift_point` names a node
    bool clamped = false;        ///< three fasteners or more that do not lie on one line: they carry a moment too
    Load load;                   ///< centre where the state puts it
    Balanced balanced;
};

/// What has come off so far, beside the middle of what the model shows of the vehicle (the box round `fixed` parts).
struct Gone {
    Load load;
    glm::dvec3 off{0.0}; ///< from that middle to the centre of what has gone
};

/// What holds whom, once from a map; holds pointers to what it was made from.
class Balance {
public:
    /// `end`: where the order down ends. What is still on then and joined to nothing that stays is held by something
    /// that is not on the map, and counts as staying.
    Balance(const Job&, const Solids&, const Masses&, const State* end = nullptr);

    /// For a part that neither stays nor is off.
    Hanging of(const State&, ItemId part) const;
    /// Every such part that the actions of a step may have moved, by index: those it is about, and what is joined to
    /// them.
    std::vector<ItemId> touched(const State&, const Step&) const;
    Gone gone(const State&) const;
    /// What holds it is not on the map.
    bool held_unseen(ItemId part) const;
    /// The place that a part's `lift_point` names, where it is a node's name.
    const glm::dvec3* lift_point(ItemId part) const;

private:
    struct Search;
    bool counts(const State&, ItemId part) const;
    bool is_ground(const State&, ItemId part) const;

    const Job& job_;
    const Solids& solids_;
    const Masses& masses_;
    std::vector<std::vector<ItemId>> joined_;     ///< part: fasteners that join it to another
    std::vector<std::vector<ItemId>> inside_;     ///< part: fasteners that go where it goes (its own, captive)
    std::vector<glm::dvec3> place_;               ///< fastener
    std::vector<glm::dvec3> lift_;                ///< part
    std::vector<std::uint8_t> has_lift_, unseen_; ///< part
};

/// One line of `balance`: after a step, a part is held otherwise than before.
struct BalanceLine {
    std::size_t after_step = 0; ///< of the plan, counted from 1; 0: as found
    Hanging hanging;
};

/// From this mass on it is told; lighter things are held in the hand (common practice, no source). Where no mass is
/// known it goes by what it would weigh as solid steel.
constexpr double told_from_kg = 2;

/// Only what changes, step by step.
std::vector<BalanceLine> balance_lines(const Job&, const Solids&, const Masses&, const Plan& strip);

/// "estimated: hangs on 2 bolts to the front of its centre; its rear would go down". Always begins with "estimated".
std::string in_words(const Map&, const Hanging&);
/// "46.0 kg", "mass not stated: 3.1 l of material, as steel it would be 24 kg"; estimates say so.
std::string in_words(const BodyMass&);
std::string in_words(const Gone&);

} // namespace boltwalk

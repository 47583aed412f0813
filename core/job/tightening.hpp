// Tightening: which bolts belong together, in which order and passes they are tightened, to what, with which wrench,
// and what speaks against a stated torque. Part of core/job's public face, beside job.hpp.
//
// What the author states is a fact and always wins. The order is worked out from where the bolts are, clamp loads from
// formulas: estimates, which say so and replace nothing. What is not stated stays so.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/geometry/tools.hpp"
#include "core/job/job.hpp"
#include "core/standards/standards.hpp"

namespace boltwalk {

/// One time round all bolts of a tightening.
struct Round {
    TorqueStage stage;     ///< of that round, shares reckoned in
    double percent = 0;    ///< share of the final torque; 0 for a round of an author's own stages
    bool is_final = false; ///< the paint stroke comes after this one
};

/// Fasteners that join the same parts, are of one size, and go to the same torque in the same way. A plug stands alone.
struct Tightening {
    std::string title;         ///< of their group; of several groups all of them
    std::vector<ItemId> items; ///< in the order in which they are tightened, each end that is turned
    Pattern pattern = Pattern::listed;
    bool pattern_stated = false;
    std::string order_words; ///< "stated: star", "worked out from where they are: ...", with the source
    std::vector<Round> rounds;
    std::string rounds_words;       ///< where the passes and their shares are from
    std::vector<std::string> words; ///< slot, lock, condition, renewal, what it waits for: one each, "not stated" too
    std::optional<TorqueSpec> torque;
    std::string source; ///< of the torque; "source not stated" where one is shown without
};

/// All that a way back tightens, in its order.
std::vector<Tightening> tightenings(const Job&, const Plan& refit);

/// Puts what each tighten step of a way back tightens into the order of its joint.
void put_in_order_of_joints(const Job&, Plan& refit);

/// What a tighten step of a way back leaves to others of the same joint.
struct RestOfJoint {
    struct Member {
        ItemId item;
        std::size_t step = 0; ///< where it is tightened
    };
    std::vector<ItemId> items;
    std::vector<std::size_t> steps; ///< where they are tightened, rising
    /// Each joint that goes beyond this step, whole, in the order of its tightening: the same as tightenings() gives.
    struct Order {
        std::vector<Member> members;
        bool stated = false; ///< one by one; else estimated from where they are
    };
    std::vector<Order> orders;
};
RestOfJoint rest_of_joint(const Job&, const Plan& refit, std::size_t step);

// ---- the wrench

struct Adapter {
    double length_mm = 0; ///< from the square to the middle of the fastener
    double angle_deg = 0; ///< to the wrench: 0 in line, 90 square to it
};
/// "50", "50,90", "50 mm, 45 deg".
Reading<Adapter> read_adapter(std::string_view text);

/// "6.6 N·m", as a wrench can be set to it: rounded even where the figure is in the unit that it was stated in, for a
/// share of it is nobody's own figure.
std::string wrench_torque(const TorqueStage&, TorqueUnit unit);

/// "11 N·m", in the person's unit alone: what the wrench is brought to in this round. A whole torque is kept as stated.
std::string round_torque(const Tightening&, const Round&, TorqueUnit unit);

struct WrenchChoice {
    const Tool* wrench = nullptr;     ///< the smallest one that takes all of it; null: none does
    double low_nm = 0, high_nm = 0;   ///< what it is set to; equal but for a range
    double least_nm = 0, most_nm = 0; ///< of its scale, what is used
    std::string words;                ///< "torque wrench 20..100 N·m, set to 58 N·m"; or why none
};
/// Of the torque wrenches in a person's own list, for one round. `box` must outlive the answer.
WrenchChoice choose_wrench(const ToolBox& box, const TorqueStage&, const std::optional<Adapter>&, TorqueUnit unit);

// ---- plausibility

/// What a stated torque does to the bolt, between a low and a high friction. An estimate.
struct ClampEstimate {
    double torque_nm = 0;                         ///< the highest stated
    double least_n = 0, most_n = 0;               ///< clamp load at high and at low friction
    double factor_least_n = 0, factor_most_n = 0; ///< the same by T = K d F
    std::optional<Strength> strength;             ///< of the weakest whose class is stated
    double least_use = 0, most_use = 0;           ///< share of the yield stress; 0 without a class
};
/// None where thread or torque is not stated, for what closes and does not clamp (plugs, clamps, clips), and where an
/// angle follows the torque, for then the angle stretches the bolt.
std::optional<ClampEstimate> clamp_of(const Job&, ItemId fastener);
/// "clamps 11..17 kN, 52..79 % of the yield of 8.8"
std::string print_clamp(const ClampEstimate&);
/// Doubts: beyond yield even at the high friction; under a tenth of what its class allows; exactly what a mixed-up unit
/// would give.
std::vector<Finding> implausible_torques(const Job&);

// ---- afterwards

/// The last card: what to look at when the job is done.
struct LastLook {
    std::string when; ///< "after the first drive, hot"
    std::string what;
    std::vector<ItemId> items;
};
std::vector<LastLook> last_looks(const Job&, const Plan& refit);

} // namespace boltwalk

// Precedence as the shapes suggest it. Plain data: core/job reads it without knowing a triangle.
//
// An item can be done in one of several alternatives (a tool in a position, a way out); each alternative names what is
// in its way. The item is free in a state when one alternative's obstacles are all gone. So a state is judged without
// any shape being measured again.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/map/map.hpp"

namespace boltwalk {

enum class Verdict : std::uint8_t {
    free,
    blocked,
    undecided, ///< too close to call, or the shapes do not allow an answer
};

/// One way of doing it.
struct Alternative {
    std::vector<ItemId> gone;          ///< all of these out, off or aside first; sorted by index, each once
    std::vector<ItemId> lowered;       ///< and all of these lowered: it holds for their lowered place only
    std::vector<ItemId> undecided;     ///< too close to call whether these are in the way; never among `gone`
    std::vector<ItemId> stays;         ///< parts that stay are in the way; sorted, each once
    std::vector<std::int32_t> scenery; ///< nodes of scenery in the way; sorted, each once
    bool never = false;                ///< either of these: no state frees it
    bool tried = false;                ///< it led into a lock: taken only where there is no other
    std::string how;                   ///< "ratchet, socket 14, extension 150 mm"; "down 600 mm"; for people
};

enum class Question : std::uint8_t {
    reach,   ///< a tool on a fastener's own drive
    counter, ///< a tool on what holds the other side
    way,     ///< a part, or a fastener drawn along its axis
};

struct Estimate {
    ItemId item;
    Question question = Question::way;
    std::vector<Alternative> alternatives; ///< the handiest first; empty: the shapes do not say
    bool on_bench = false; ///< of its way off a unit that is off already; else while it is on the vehicle
    std::vector<ItemId>
        moved; ///< it holds only while these hang lowered or lie aside, as they did when it was measured
    std::vector<ItemId>
        measured_low; ///< of reach: these were measured lowered, too; what else is moved is not in the way
};

/// All estimates of a map. An item may have several (reach and counter and way): each must be free.
struct Estimates {
    std::vector<Estimate> list;                     ///< by item in file order, then by question
    std::vector<std::vector<std::int32_t>> of_item; ///< item: indices into `list`
    std::vector<Finding> doubts;                    ///< what the shapes say beside any order, for a check
};

} // namespace boltwalk

// What the search for the least crawling knows of a course; no other source includes this.
#pragma once

#include <string>
#include <vector>

#include "core/job/course.hpp"
#include "core/job/least.hpp"

namespace boltwalk::inside {

/// One thing to do, with what the search asks of it.
struct Errand {
    Action action;
    int place = -1; ///< a Place, or none: from wherever one is
    int tool = -1;  ///< index into Errands::tools, or none
    VehicleAsk needs, sets;
    bool undoes = false;   ///< a fastener comes out or loose
    bool leaves = false;   ///< a part comes off, aside or down
    bool holds_up = false; ///< from here on the vehicle is not raised or let down
};

/// The last of several must wait: not all of `others` before `deed` (a shaft is held by what is still bolted to it).
struct NotAllBefore {
    std::size_t deed = 0;
    Bits others;
};

struct Errands {
    std::vector<Errand> list; ///< in the order of the plan that they come from
    std::vector<std::string> tools;
    std::vector<Bits> before; ///< deed: what comes before it in every legal order
    std::vector<Bits> later;  ///< deed: what comes after it in every legal order
    std::vector<NotAllBefore> holds;
    std::optional<Company> company;
    int vehicle_changes = 0;   ///< as many as the plan makes by themselves
    VehicleAsk vehicle;        ///< as found
    bool nothing_hangs = true; ///< nothing is undone whose part would hang on nothing and could not come off yet
    bool searchable = true;    ///< short enough, and an order exists in the lower view
    bool monotone = true;      ///< nothing in it that doing more could block, beside what the search knows of
};

Errands errands_of(const Job&, const Plan& strip);

/// One entry of an order: a deed, or (deed < 0) a change of the vehicle.
struct Stop {
    std::int32_t deed = -1;
    VehicleAsk vehicle;
};

struct Found {
    std::vector<Stop> order; ///< empty: none found within the budget
    Changes at_least;        ///< no order that keeps these rules has fewer
    bool proven = false;     ///< `order` has just so many
    bool exhausted = false;  ///< there is no such order
    std::int64_t nodes = 0;
};

/// Which rules a search keeps to. The first two leave some out and try every choice, so that `at_least` holds for every
/// legal order; the last keeps all and tries fewer choices, so that `order` is legal.
enum class Rules : std::uint8_t {
    order, ///< what comes before what, and the vehicle
    last,  ///< also what is undone last of several: nothing hangs, nothing lets go of what is still to be held
    all,
};
Found search_least_crawling(const Job&, const Errands&, Rules, std::int64_t budget);

/// Ask merged into what the vehicle is would want chocks that are not there.
bool lacks_chocks(const VehicleAsk& is, const VehicleAsk& ask);

} // namespace boltwalk::inside

// All that a map states of an item, as lines for people.
#pragma once

#include <string>
#include <vector>

#include "core/job/job.hpp"

namespace boltwalk {

/// A finding's words as the screen shows them: printable(), and what a terminal sets between backticks between
/// quotation marks. A backtick without its fellow stays.
std::string on_screen(const std::string& text);

struct Fact {
    std::string name;
    std::string value; ///< "not stated" where the map says nothing and a person would ask
    bool stated = true;
};

/// In the order in which a person asks: what, how large, how tight, what goes with it, when, where from.
std::vector<Fact> facts_of(const Map&, ItemId);

/// "6 bolts" need no title: what a person calls this item. Of a fastener its group's title and its own name.
std::string caption_of(const Map&, ItemId);

/// "2 × M8 × 60"; what has no size is called by its name: "1 × split pin".
std::string how_many(const Hardware&);
/// "2 × M8 × 60, 1 × M8 × 40 · hex 13 · 22 N·m; 1 × split pin": how many of what, with which tool, how tight, tool by
/// tool. No line breaks within a size, a tool's name or a torque.
std::string hardware_in_brief(const std::vector<Hardware>&, bool with_torque);

/// How the item is in that state: "tight, as found", "out", "on, propped".
std::string condition_of(const Job&, const State&, ItemId);

/// Why something still holds an item, in a few words: "joins it to what stays", "locks it".
std::string_view holding_words(Rule);

} // namespace boltwalk

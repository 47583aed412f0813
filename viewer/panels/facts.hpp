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

/// How the item is in that state: "tight, as found", "out", "on, propped".
std::string condition_of(const Job&, const State&, ItemId);

/// Why something still holds an item, in a few words: "joins it to what stays", "locks it".
std::string_view holding_words(Rule);

} // namespace boltwalk

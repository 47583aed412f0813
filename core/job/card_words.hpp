// The words that a card is made of; only cards.cpp and card_words.cpp include this.
#pragma once

#include <string>
#include <vector>

#include "core/job/inside.hpp"

namespace boltwalk::inside {

std::string title_of(const Map&, ItemId);

/// "transfer box", "3 bolts", "rail and tunnel": at most three names, then how many more.
std::string list_titles(const Map&, const std::vector<ItemId>&);

/// How a castle nut gets to its slot; the torque there is asked for, not guessed.
std::string slot_words(const Fastener&);

/// "from under"; empty where it is not stated.
std::string place_words(Place);

/// "Take out: 6 bolts, Skid plate bolts".
std::string headline_of(const Map&, const Step&, bool refit);

/// Why a step comes when it does; empty when nothing waits for it.
std::string why_of(const Map&, const Step&, bool refit);

} // namespace boltwalk::inside

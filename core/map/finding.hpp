// What is wrong, where, why, and what would mend it. Every check in the program answers with these; nothing prints on
// its own.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace boltwalk {

/// How much a finding weighs. Only a fault makes `check` exit with 1.
enum class Weight {
    fault, ///< cannot be so
    doubt, ///< probably wrong
    note,  ///< worth knowing
};

/// Texts hold names and values as the file gave them: control characters and bidirectional marks included. Whoever
/// prints passes them through printable() first.
struct Finding {
    Weight weight = Weight::note;
    std::string rule;               ///< a stable word in kebab-case: "unknown-key", "prop-late"
    std::vector<std::string> nodes; ///< node names, the one to look at first
    std::string key;                ///< the annotation's key, or empty
    std::string value;              ///< the value as written, or empty
    std::string what;               ///< a sentence
    std::string why;                ///< a sentence, may be empty
    std::string remedy;             ///< a sentence
};

/// "a, b, c, d and 3 more": of a long list only the first are named; a finding's nodes keep all.
std::string few_of(const std::vector<std::string>& names, std::string_view by = ", ", std::size_t most = 4);

/// `text` fit for a terminal: control characters, bidirectional controls and broken UTF-8 become visible escapes such
/// as
/// "\x1b" or "\u202e". Everything else stays.
std::string printable(const std::string& text);

} // namespace boltwalk

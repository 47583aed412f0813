// How findings and orders are printed: as lines for a person and as JSON for a script. Whatever came out of a file
// passes printable() here, so that no command can forget it.
#pragma once

#include <string>
#include <vector>

#include <nlohmann/json_fwd.hpp>

#include "core/job/least.hpp"

namespace boltwalk {

/// Exit codes of every subcommand.
constexpr int exit_good = 0;
constexpr int exit_findings = 1;
constexpr int exit_unreadable = 2;
constexpr int exit_usage = 64;

/// One line on the error stream, made printable.
void say_error(const std::string& text);

/// "84 fasteners in 17 groups, 34 parts, 12 tasks".
std::string counts_of(const Map&);

std::string findings_text(const Map&, const std::vector<Finding>&);
std::string findings_json(const Map&, const std::vector<Finding>&);
nlohmann::ordered_json finding_json(const Finding&);
/// Whether any is a fault (or, when `strict`, a doubt).
bool weighs(const std::vector<Finding>&, bool strict);

std::string holds_json(const Map&, const std::string& item, std::size_t step, const std::string& standing,
                       const std::vector<Held>&);

/// What is proven of an order, as far as it was asked for.
struct Proven {
    const Fewest* fewest = nullptr;
    const LeastCrawling* crawling = nullptr;
};
std::string plan_text(const Job&, const Plan&, const std::string& title, const Proven& = {});
std::string plan_json(const Job&, const Plan&, const Proven& = {});

/// "no part is named front_shft; front_shaft is": for a name on the command line.
std::string no_such_item(const Map&, const std::string& name, const char* kind);

/// Prints to the standard output; false when it could not be written (a full disk), which must not pass for good.
bool print(const std::string& text);

/// As every command prints JSON: indented, pure ASCII, so that a terminal that shows it obeys nothing that a file
/// holds.
std::string json_text(const nlohmann::ordered_json&);

std::string_view name_of(Weight);
std::string_view name_of(Verb);

} // namespace boltwalk

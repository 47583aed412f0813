#include "viewer/commands/log.hpp"

#include <algorithm>
#include <cstdio>
#include <fstream>
#include <iostream>
#include <memory>
#include <span>

#include <CLI/CLI.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "core/job/estimated.hpp"
#include "core/log/ledger.hpp"
#include "core/log/lines.hpp"
#include "viewer/commands/files.hpp"
#include "viewer/commands/report.hpp"

namespace boltwalk {

namespace log_command {
namespace {

using Json = nlohmann::ordered_json;

struct Settings {
    std::string map, log, lines_from, import_from;
    std::vector<std::string> lines;
    bool json = false, csv = false, now = false, ask = false, untorqued = false;
};

constexpr const char* lines_help =
    "LINE, each in quotes; each is safe on disk when its number is printed:\n"
    "  did out 12 [but NAME]...        step 12 of the order down; what is so already is left out\n"
    "  did back 30 [at \"22 N·m\"]       a step of the way back\n"
    "  did [VERB] NAME [with new|NAME] [at TORQUE] [pass 1 of 2]\n"
    "                                  an item, or each of a group; without a verb, what comes next for it\n"
    "  did set-vehicle stands; chocked\n"
    "  found WHAT NAME [as KIND]: words  absent, wrong-piece, sheared, stripped, rounded, stuck, cut-off, stud-came,\n"
    "                                  recut, insert, substitute, lost, night; KIND as in: M8 x 30, hex, 8.8\n"
    "  in-the-way [NODE]: words        what the manual did not foresee, and is to go back\n"
    "  moved NAME to tray|scrapped|missing\n"
    "  settled N [DUTY]                what followed from entry N\n"
    "  ticked tool: hex 14             a tool that is there, a part that was bought (--now lists them)\n"
    "  way-back, way-out               the way back begins; out again\n"
    "  noted [NAME]: words\n"
    "  struck N: why                   entry N was wrong; putting a thing back is no striking out\n"
    "  closed[: why]                   why, where something is still open\n";

struct Book {
    const Job& job;
    const Plan& strip;
    const Plan& refit;
    Log& log;
    JobNow now;

    LineContext context() const { return {job, strip, refit, log.entries(), now}; }
};

void line(std::string& out, const std::string& text) {
    out += printable(text) + "\n";
}

std::string ledger_lines(const Job& job, const JobNow& now) {
    std::string out;
    const std::vector<Count> ledger = ledger_of(job, now);
    for (const Count& c : ledger) {
        line(out, fmt::format("  {}", print_kind(c)));
        line(out, "      " + print_balance(c, false));
        line(out, "      " + print_places(c, false));
        for (const std::size_t other : c.look_alikes)
            line(out, "      LOOKS LIKE " + print_kind(ledger[other]));
    }
    return out;
}

std::string now_text(const Job& job, const JobNow& now) {
    std::string out = "Ledger\n" + ledger_lines(job, now) + "\nTo have before the first bolt\n";
    for (const Need& need : needs_of(job, now))
        line(out, fmt::format("  [{}] {}  ({})", need.ticked ? "x" : " ", need.name, amount_in_words(need)));
    out += "\nWhat follows from what happened\n";
    for (const OpenDuty& open : now.duties)
        line(out, fmt::format("  [{}] {}", open.duty == Duty::remember ? "note" : open.settled ? "x" : " ", open.what));
    out += "\nOpen\n";
    for (const Finding& finding : against_closing(job, now))
        line(out, fmt::format("  {}: {}", finding.rule, finding.what));
    return out;
}

/// What is tight, and for which no torque is stated.
std::string none_stated_words(const std::vector<Untorqued>& list) {
    const auto count = std::count_if(list.begin(), list.end(), [](const Untorqued& one) { return one.none_stated; });
    return count > 0 ? fmt::format("; {} of them tight, with no torque stated", count) : "";
}

/// By group, what has no paint stroke.
std::string untorqued_text(const Map& map, const JobNow& now, const std::vector<Untorqued>& list) {
    std::string out;
    if (list.empty() && !now.begun)
        line(out, "Nothing is logged as undone.");
    else if (list.empty())
        line(out, "Everything that was undone has its final torque logged.");
    else
        line(out, fmt::format("Without a paint stroke: {}{}", list.size(), none_stated_words(list)));
    for (const Untorqued& one : list) {
        const Fastener& f = map.fastener(one.item);
        line(out, fmt::format("  {} ({}): {}; {}", map[one.item].name, map[one.item].title,
                              f.torque ? f.torque->text : "torque not stated", one.standing));
    }
    return out;
}

std::string untorqued_json(const Map& map, const std::vector<Untorqued>& list) {
    Json root;
    root["untorqued"] = Json::array();
    for (const Untorqued& one : list) {
        const Fastener& f = map.fastener(one.item);
        root["untorqued"].push_back({{"item", map[one.item].name},
                                     {"group", map[one.item].title},
                                     {"torque", f.torque ? Json(f.torque->text) : Json()},
                                     {"standing", one.standing},
                                     {"none_stated", one.none_stated}});
    }
    return json_text(root);
}

Json now_json(const Job& job, const JobNow& now, const std::vector<Entry>& entries) {
    const Map& map = *job.map;
    Json root;
    root["way"] = now.state.refit ? "refit" : "strip";
    root["closed"] = now.closed;
    root["closed_why"] = now.closed_why;
    root["ledger"] = Json::array();
    const std::vector<Count> ledger = ledger_of(job, now);
    for (const Count& c : ledger) {
        Json alike = Json::array(), tray = Json::array();
        for (const std::size_t other : c.look_alikes)
            alike.push_back(print_kind(ledger[other]));
        for (const ItemId item : c.tray)
            tray.push_back(map[item].name);
        root["ledger"].push_back({{"kind", print_kind(c)},
                                  {"came_out", c.came_out},
                                  {"in_tray", c.in_tray},
                                  {"refitted", c.refitted},
                                  {"elsewhere", c.elsewhere},
                                  {"scrapped", c.scrapped},
                                  {"missing", c.missing},
                                  {"places", c.places},
                                  {"strangers", c.strangers},
                                  {"fresh", c.fresh},
                                  {"empty", c.empty},
                                  {"rests", c.rests},
                                  {"tray", tray},
                                  {"look_alikes", alike}});
    }
    root["needs"] = Json::array();
    for (const Need& need : needs_of(job, now))
        root["needs"].push_back(
            {{"name", need.name}, {"count", need.count}, {"ticked", need.ticked}, {"note", need.note}});
    const auto number_of = [&](const std::string& key) -> std::int64_t {
        for (const Entry& e : entries)
            if (e.key == key)
                return e.number;
        return 0;
    };
    root["duties"] = Json::array();
    for (const OpenDuty& open : now.duties)
        root["duties"].push_back({{"duty", word_of(open.duty)},
                                  {"item", open.item ? map[open.item].name : ""},
                                  {"entry", number_of(open.key)},
                                  {"what", open.what},
                                  {"settled", open.settled}});
    root["extras"] = Json::array();
    for (const Extra& extra : now.extras)
        root["extras"].push_back({{"name", extra.name}, {"entry", number_of(extra.key)}, {"back", extra.back}});
    root["deviations"] = Json::array();
    for (const Deviation& deviation : now.deviations)
        root["deviations"].push_back({{"entry", entries[deviation.entry].number}, {"what", deviation.what}});
    root["open"] = Json::array();
    for (const Finding& finding : against_closing(job, now))
        root["open"].push_back({{"rule", finding.rule}, {"nodes", finding.nodes}, {"what", finding.what}});
    return root;
}

/// The tools and parts that nobody ticked off, a line each, six at most.
std::vector<std::string> untaken(const Book& book) {
    std::vector<std::string> out;
    for (const Need& need : needs_of(book.job, book.now))
        if (!need.ticked)
            out.push_back("  " + need.name);
    constexpr std::size_t most = 6;
    if (out.size() > most) {
        const std::size_t more = out.size() - most;
        out.resize(most);
        out.push_back(fmt::format("  and {} more (--now lists them)", more));
    }
    return out;
}

/// What deviates from there on, a sentence for each step and rule.
std::vector<Deviation> deviations_from(const JobNow& now, const std::vector<Entry>& entries, std::size_t first) {
    return gathered(entries, std::span(now.deviations).subspan(std::min(first, now.deviations.size())));
}

std::string log_text(const Map& map, const Book& book) {
    std::string out;
    const auto& entries = book.log.entries();
    line(out, fmt::format("{}: {}, {} {}", map.job.empty() ? map.path : map.job, book.log.path(), entries.size(),
                          entries.size() == 1 ? "entry" : "entries"));
    const std::vector<Deviation> deviations = deviations_from(book.now, entries, 0);
    std::size_t next = 0;
    for (std::size_t i = 0; i < entries.size(); ++i) {
        std::string text = print_entry(entries[i]);
        if (!entries[i].about.empty())
            for (const Entry& other : entries)
                if (other.key == entries[i].about)
                    text += fmt::format("  [entry {}]", other.number);
        line(out, text + (book.now.struck[i] != 0 ? "  [struck out]" : ""));
        for (; next < deviations.size() && deviations[next].entry <= i; ++next)
            line(out, "        deviates: " + deviations[next].what);
    }
    if (const auto missing = untaken(book); !book.now.begun && !missing.empty()) {
        line(out, "Nobody ticked off yet that this is there:");
        for (const std::string& need : missing)
            line(out, need);
    }
    const std::string ledger = ledger_lines(book.job, book.now);
    if (!ledger.empty())
        out += "\n" + ledger;
    if (book.now.closed)
        line(out, "Closed" + (book.now.closed_why.empty() ? "" : ": " + book.now.closed_why));
    else if (book.now.begun)
        line(out, fmt::format("Open: {} (--now lists them)", against_closing(book.job, book.now).size()));
    return out;
}

/// A castle nut ends at a slot, at a torque that nobody can work out: it is asked for.
void ask_slot_torques(const Map& map, const std::vector<Entry>& entries, std::size_t from) {
    for (std::size_t i = from; i < entries.size(); ++i) {
        const Entry& e = entries[i];
        if (e.deed == Deed::did && e.verb == Verb::tighten && e.torque.empty() && e.item && map.is_fastener(e.item) &&
            map.fastener(e.item).kind == FastenerKind::castle_nut)
            say_error(fmt::format("{}: at what torque does it stand in its slot? Write it down: noted {}: … N·m at "
                                  "the slot",
                                  map[e.item].name, map[e.item].name));
    }
}

/// One line: judged, and unless only asked, entered.
int take_line(Book& book, const std::string& text, bool only_ask) {
    const auto read = read_line(book.context(), text);
    if (!read) {
        say_error(fmt::format("{}: {} {}", text, read.error().what, read.error().remedy));
        return exit_usage;
    }
    if (read->empty())
        return exit_good;
    int code = exit_good;
    if (only_ask) {
        std::vector<Entry> then = book.log.entries();
        JobNow now = book.now;
        for (const Entry& e : *read)
            then.push_back(e);
        const std::size_t before = now.deviations.size();
        fold_further(book.job, now, then);
        for (const Deviation& deviation : deviations_from(now, then, before)) {
            say_error("deviates: " + deviation.what);
            code = exit_findings;
        }
        if (code == exit_good && !print(printable("nothing against it: " + text) + "\n"))
            return exit_unreadable;
        return code;
    }
    const Entry& first = read->front();
    if (first.deed == Deed::closed) {
        const auto open = against_closing(book.job, book.now);
        if (!open.empty() && first.words.empty()) {
            for (const Finding& finding : open)
                say_error(fmt::format("open: {} {}", finding.what, finding.remedy));
            say_error("not closed. Over these it can only be closed by writing why: closed: WHY");
            return exit_findings;
        }
    }
    const bool begun = book.now.begun;
    const auto missing = begun ? std::vector<std::string>() : untaken(book);
    const std::size_t known = book.log.entries().size();
    const std::size_t deviations = book.now.deviations.size();
    const bool kept = book.log.add(*read);
    fold_further(book.job, book.now, book.log.entries());
    if (book.now.begun && !missing.empty()) {
        say_error("before the first bolt: nobody ticked off that this is there:");
        for (const std::string& need : missing)
            say_error(need);
    }
    if (!kept) {
        say_error(book.log.warning());
        return exit_unreadable;
    }
    std::string out;
    for (std::size_t i = known; i < book.log.entries().size(); ++i)
        line(out, print_entry(book.log.entries()[i]));
    if (!print(out))
        return exit_unreadable;
    ask_slot_torques(*book.job.map, book.log.entries(), known);
    for (const Deviation& deviation : deviations_from(book.now, book.log.entries(), deviations)) {
        say_error("deviates: " + deviation.what);
        code = exit_findings;
    }
    return code;
}

int take_import(Book& book, const std::string& path) {
    const auto text = bytes_of(path);
    if (!text)
        return exit_unreadable;
    auto read = import_log(*book.job.map, *text);
    if (!read) {
        say_error(fmt::format("{}: {} {}", path, read.error().what, read.error().remedy));
        return exit_usage;
    }
    for (const std::string& differs : read->differs)
        say_error(differs);
    const std::size_t known = book.log.entries().size();
    const std::size_t count = read->entries.size();
    if (!book.log.add(std::move(read->entries))) {
        say_error(book.log.warning());
        return exit_unreadable;
    }
    fold_further(book.job, book.now, book.log.entries());
    const std::string done =
        fmt::format("{}: {} of {} entries were new\n", path, book.log.entries().size() - known, count);
    return print(printable(done.substr(0, done.size() - 1)) + "\n") ? exit_good : exit_unreadable;
}

/// Lines that name no step and that no rule is asked about.
bool is_plain(const std::string& text) {
    for (const char* word : {"noted", "ticked", "moved", "settled"})
        if (text.starts_with(std::string(word) + " "))
            return true;
    return false;
}

/// Shapes are measured where a rule is asked: for what was done already when deviations are told, and for new lines
/// that may say what was done. Nothing else that is printed here depends on them.
bool asks_shapes(const Settings& settings, bool empty) {
    if (!settings.lines_from.empty() || !std::all_of(settings.lines.begin(), settings.lines.end(), is_plain))
        return true;
    const bool tells_deviations = settings.now ? settings.json : !settings.json && !settings.csv;
    const bool prints =
        settings.now || settings.json || settings.csv || (settings.lines.empty() && settings.import_from.empty());
    return !settings.untorqued && prints && tells_deviations && !empty;
}

int run(const Settings& settings) {
    const auto map = map_of(settings.map);
    if (!map)
        return exit_unreadable;
    Log log(*map, settings.log.empty() ? log_path_of(settings.map) : settings.log);
    const bool empty = log.entries().empty() && settings.import_from.empty();
    const Job job = asks_shapes(settings, empty) ? job_with_shapes(*map) : prepare(*map);
    const Plan strip = plan_strip(job);
    const Plan refit = plan_refit(job, strip);
    const bool writes = !settings.lines.empty() || !settings.lines_from.empty() || !settings.import_from.empty();
    if (!log.warning().empty() && (writes || log.entries().empty()) && !settings.ask)
        say_error(log.warning());
    for (const std::string& differs : log.map_match().differs)
        say_error("the map has changed: " + differs);
    Book book{job, strip, refit, log, fold(job, log.entries(), gates_of(*map, strip, refit))};
    int code = exit_good;
    if (!settings.import_from.empty())
        code = take_import(book, settings.import_from);
    const auto take = [&](const std::string& text) {
        const int one = take_line(book, text, settings.ask);
        code = std::max(code, one);
        return one <= exit_findings; // after what cannot be read or written, nothing more is entered
    };
    bool goes_on = code <= exit_findings;
    for (std::size_t i = 0; i < settings.lines.size() && goes_on; ++i)
        goes_on = take(settings.lines[i]);
    if (!settings.lines_from.empty() && goes_on) {
        std::ifstream file;
        if (settings.lines_from != "-")
            file.open(settings.lines_from);
        std::istream& in = settings.lines_from == "-" ? std::cin : file;
        if (!in) {
            say_error(fmt::format("{}: cannot be read", settings.lines_from));
            return exit_unreadable;
        }
        for (std::string text; goes_on && std::getline(in, text);)
            goes_on = take(text);
    }
    if (writes && !settings.now && !settings.json && !settings.csv && !settings.untorqued)
        return code;
    std::string out;
    if (settings.untorqued) {
        const auto list = untorqued_of(job, book.now);
        out = settings.json ? untorqued_json(*map, list) : untorqued_text(*map, book.now, list);
        if (!list.empty())
            code = std::max(code, exit_findings);
    } else if (settings.now)
        out = settings.json ? json_text(now_json(job, book.now, log.entries())) : now_text(job, book.now);
    else if (settings.json)
        out = export_json(log.snapshot(), log.entries());
    else if (settings.csv)
        out = export_csv(log.snapshot(), log.entries());
    else
        out = log_text(*map, book);
    if (!print(out))
        return exit_unreadable;
    // An old log that cannot be read must not pass for an empty one.
    if (!writes && log.entries().empty() && !log.warning().empty())
        return exit_unreadable;
    return code;
}

} // namespace
} // namespace log_command

void add_log(CLI::App& app, int& exit_code) {
    using namespace log_command;
    auto settings = std::make_shared<Settings>();
    CLI::App* command = app.add_subcommand("log", "What was done: print it, add to it, take it along");
    command->add_option("MAP", settings->map, "a .gltf or .glb file; its log lies beside it, MAP.log.sqlite")
        ->required();
    command->add_option("LINE", settings->lines, "facts to be entered, as below");
    command->add_option("--from", settings->lines_from, "a file of such lines; - for the standard input");
    command->add_flag("--ask", settings->ask, "enter nothing; say what would be against it");
    command->add_flag("--now", settings->now, "how everything stands: ledger, needs, what follows, what is open");
    command->add_flag("--untorqued", settings->untorqued,
                      "what was undone and has no final torque logged yet; exit 1 where there is any");
    command->add_flag("--json", settings->json, "as JSON: the whole log, or with --now how it stands");
    command->add_flag("--csv", settings->csv, "the entries as CSV");
    command->add_option("--import", settings->import_from, "adds what --json or --csv wrote, what is known only once");
    command->add_option("--log", settings->log, "another file for the log");
    command->footer(lines_help);
    command->callback([settings, &exit_code] { exit_code = run(*settings); });
}

} // namespace boltwalk

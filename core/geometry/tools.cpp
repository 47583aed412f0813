// The list of tools that a person owns, read.
#include "core/geometry/tools.hpp"

#include <algorithm>
#include <iterator>

#include <fmt/format.h>

#include "core/map/files.hpp"
#include "core/measure/spelling.hpp"

namespace boltwalk {

using namespace spelling;

// ---------------------------------------------------------------------------------------------------- the home box

// An ordinary home box: one set of sockets of each square, combination spanners, hexagon keys. Common practice, no
// source.
std::string_view home_box_text() {
    return R"(# An ordinary home box.
ratchet 150 mm square 6.3
ratchet 200 mm square 10
ratchet 250 mm square 12.5
bar 600 mm square 12.5
extension 75 square 6.3
extension 150 square 6.3
extension 75 square 10
extension 150 square 10
extension 250 square 10
extension 75 square 12.5
extension 125 square 12.5
extension 250 square 12.5
socket 4 square 6.3
socket 5 square 6.3
socket 5.5 square 6.3
socket 6 square 6.3
socket 7 square 6.3
socket 8 square 6.3
socket 10 square 6.3
socket 12 square 6.3
socket 13 square 6.3
socket 8 square 10
socket 10 square 10
socket 11 square 10
socket 12 square 10
socket 13 square 10
socket 14 square 10
socket 15 square 10
socket 16 square 10
socket 17 square 10
socket 18 square 10
socket 19 square 10
socket 10 square 12.5
socket 12 square 12.5
socket 13 square 12.5
socket 14 square 12.5
socket 15 square 12.5
socket 16 square 12.5
socket 17 square 12.5
socket 18 square 12.5
socket 19 square 12.5
socket 21 square 12.5
socket 22 square 12.5
socket 24 square 12.5
socket 27 square 12.5
socket 30 square 12.5
socket 32 square 12.5
deep socket 10 square 10
deep socket 13 square 10
deep socket 16 square 12.5
deep socket 17 square 12.5
deep socket 18 square 12.5
deep socket 19 square 12.5
spanner 6
spanner 7
spanner 8
spanner 10
spanner 11
spanner 12
spanner 13
spanner 14
spanner 15
spanner 16
spanner 17
spanner 18
spanner 19
spanner 21
spanner 22
spanner 24
hex key 1.5
hex key 2
hex key 2.5
hex key 3
hex key 4
hex key 5
hex key 6
hex key 8
hex key 10
hex bit 4 square 10
hex bit 5 square 10
hex bit 6 square 10
hex bit 8 square 10
hex bit 10 square 10
hex bit 8 square 12.5
hex bit 10 square 12.5
hex bit 12 square 12.5
hexalobular bit 20 square 6.3
hexalobular bit 25 square 6.3
hexalobular bit 27 square 6.3
hexalobular bit 30 square 10
hexalobular bit 40 square 10
hexalobular bit 45 square 10
hexalobular bit 50 square 12.5
hexalobular bit 55 square 12.5
screwdriver cross 1
screwdriver cross 2
screwdriver cross 3
screwdriver slot 4
screwdriver slot 6
screwdriver slot 8
torque wrench 5..25 N·m square 6.3
torque wrench 20..110 N·m square 10
torque wrench 40..200 N·m square 12.5
pliers
)";
}

ToolBox home_box() {
    return read_tools(home_box_text(), "home box").value_or(ToolBox{"home box", {}});
}

// ------------------------------------------------------------------------------------------------------ read a list

namespace {

struct KindWord {
    std::string_view word;
    ToolKind kind;
    std::string_view drive; ///< put before the size for read_drive; empty: no drive
    bool rest_is_drive = false;
};
constexpr KindWord kind_words[] = {
    {"external hexalobular socket", ToolKind::socket, "external hexalobular"},
    {"deep socket", ToolKind::deep_socket, "hex"},
    {"socket", ToolKind::socket, "hex"},
    {"hexalobular bit", ToolKind::bit, "hexalobular"},
    {"square bit", ToolKind::bit, "square"},
    {"hexagon bit", ToolKind::bit, "socket"},
    {"hex bit", ToolKind::bit, "socket"},
    {"hexalobular key", ToolKind::key, "hexalobular"},
    {"hexagon key", ToolKind::key, "socket"},
    {"hex key", ToolKind::key, "socket"},
    {"ring", ToolKind::ring, "hex"},
    {"open", ToolKind::open, "hex"},
    {"screwdriver", ToolKind::screwdriver, "", true},
    {"extension", ToolKind::extension, ""},
    {"ratchet", ToolKind::ratchet, ""},
    {"bar", ToolKind::bar, ""},
    {"torque wrench", ToolKind::torque_wrench, ""},
    {"pliers", ToolKind::pliers, ""},
};
constexpr std::string_view all_words =
    "Write one tool a line: socket 13, deep socket 13, hex bit 6, hexalobular bit 40, square bit 10, extension 150, "
    "ratchet 250 mm, bar 600 mm, torque wrench 20..100 N·m, ring 17, open 17, spanner 17, hex key 6, "
    "hexalobular key 40, screwdriver cross 2, screwdriver slot 6, pliers.";
/// Longer than any hand tool, shorter than any extension.
constexpr double longest_tool_mm = 2000;
constexpr double shortest_tool_mm = 20;

std::string_view word_of(ToolKind kind) {
    for (const KindWord& word : kind_words)
        if (word.kind == kind && (kind != ToolKind::socket || word.word == "socket"))
            return word.word;
    return "tool";
}

/// Cuts " word ..." off the end of `text` and returns what follows the word; empty when it is not there.
std::string cut(std::string& text, std::string_view word) {
    const std::string with = fmt::format(" {} ", word);
    const std::size_t at = text.find(with);
    if (at == std::string::npos)
        return "";
    std::string rest(trimmed(std::string_view(text).substr(at + with.size())));
    text = std::string(trimmed(std::string_view(text).substr(0, at)));
    return rest;
}

Reading<double> read_square(const std::string& text) {
    struct Size {
        std::string_view word;
        double mm;
    };
    static constexpr Size sizes[] = {
        {"6.3", 6.3},    {"1/4 in", 6.3}, {"10", 10},    {"3/8 in", 10}, {"12.5", 12.5},    {"1/2 in", 12.5},
        {"6.3 mm", 6.3}, {"1/4\"", 6.3},  {"10 mm", 10}, {"3/8\"", 10},  {"12.5 mm", 12.5}, {"1/2\"", 12.5},
    };
    for (const Size& size : sizes)
        if (text == size.word)
            return size.mm;
    return tl::unexpected(
        Mistake{fmt::format("{} is no square of a hand tool.", quoted(text)), "Write square 6.3, 10 or 12.5."});
}

Reading<double> read_tool_length(const std::string& text, std::string_view word) {
    const Reading<double> length = read_length_mm(text);
    if (!length)
        return length;
    if (*length < shortest_tool_mm || *length > longest_tool_mm)
        return tl::unexpected(Mistake{fmt::format("{} mm is no length of a hand tool.", print_number(*length)),
                                      fmt::format("Write its length in millimetres, \"{} 150\".", word)});
    return length;
}

Reading<Tool> read_range(Tool tool, const std::string& rest) {
    const Reading<TorqueSpec> range = read_torque(rest);
    if (!range)
        return tl::unexpected(range.error());
    const TorqueStage& stage = range->stages[0];
    if (range->stages.size() != 1 || stage.has_angle || !stage.has_torque || stage.low_nm == stage.high_nm)
        return tl::unexpected(Mistake{fmt::format("{} is no range of torque.", quoted(rest)),
                                      "Write the wrench's range, \"torque wrench 20..100 N·m\"."});
    tool.low_nm = stage.low_nm;
    tool.high_nm = stage.high_nm;
    return tool;
}

Reading<std::vector<Tool>> read_line(std::string text) {
    Tool tool;
    // Whichever stands last goes first: "... square 12.5 length 520 mm".
    std::string length = cut(text, "length");
    const std::string square = cut(text, "square");
    if (length.empty())
        length = cut(text, "length");
    if (!square.empty()) {
        const Reading<double> mm = read_square(square);
        if (!mm)
            return tl::unexpected(mm.error());
        tool.square_mm = *mm;
    }
    if (!length.empty()) {
        const Reading<double> mm = read_tool_length(length, "length");
        if (!mm)
            return tl::unexpected(mm.error());
        tool.length_mm = *mm;
    }
    std::string_view rest = text;
    const bool both = rest.starts_with("spanner ");
    const auto* word = std::find_if(std::begin(kind_words), std::end(kind_words), [&](const KindWord& w) {
        return rest.starts_with(w.word) && (rest.size() == w.word.size() || rest[w.word.size()] == ' ');
    });
    if (both)
        word = std::find_if(std::begin(kind_words), std::end(kind_words),
                            [](const KindWord& w) { return w.kind == ToolKind::ring; });
    if (word == std::end(kind_words))
        return tl::unexpected(Mistake{fmt::format("{} names no tool.", quoted(text)), std::string(all_words)});
    rest.remove_prefix(both ? std::string_view("spanner").size() : word->word.size());
    const std::string size(trimmed(rest));
    tool.kind = word->kind;
    if (tool.kind == ToolKind::pliers) {
        if (!size.empty())
            return tl::unexpected(
                Mistake{fmt::format("{} gives a size to pliers.", quoted(text)), "Write pliers alone."});
        return std::vector<Tool>{tool};
    }
    if (size.empty())
        return tl::unexpected(Mistake{fmt::format("{} has no size.", quoted(text)), std::string(all_words)});
    if (tool.kind == ToolKind::torque_wrench) {
        const Reading<Tool> wrench = read_range(tool, size);
        if (!wrench)
            return tl::unexpected(wrench.error());
        return std::vector<Tool>{*wrench};
    }
    if (word->drive.empty() && !word->rest_is_drive) {
        const Reading<double> stated = read_tool_length(size, word->word);
        if (!stated)
            return tl::unexpected(stated.error());
        tool.length_mm = *stated;
        return std::vector<Tool>{tool};
    }
    const Reading<Drive> drive = read_drive(word->rest_is_drive ? size : fmt::format("{} {}", word->drive, size));
    if (!drive)
        return tl::unexpected(Mistake{fmt::format("{}: {}", quoted(text), drive.error().what),
                                      fmt::format("Write the size behind the tool, \"{} {}\".", word->word,
                                                  word->rest_is_drive ? "cross 2" : "10")});
    if (word->rest_is_drive && drive->kind != DriveKind::cross && drive->kind != DriveKind::slot)
        return tl::unexpected(Mistake{fmt::format("{} is no screwdriver.", quoted(text)),
                                      "Write \"screwdriver cross 2\" or \"screwdriver slot 6\"."});
    tool.drive = *drive;
    std::vector<Tool> tools{tool};
    if (both) {
        tool.kind = ToolKind::open;
        tools.push_back(tool);
    }
    return tools;
}

std::string_view size_text(const Tool& tool) {
    const std::string_view name = tool.drive.name;
    const std::size_t blank = tool.drive.kind == DriveKind::external_hexalobular ? name.rfind(' ') : name.find(' ');
    return blank == std::string_view::npos ? name : name.substr(blank + 1);
}

} // namespace

tl::expected<ToolBox, std::string> read_tools(std::string_view text, const std::string& name) {
    ToolBox box;
    box.name = name;
    int line = 0;
    while (!text.empty()) {
        const std::size_t end = text.find('\n');
        std::string_view one = text.substr(0, end);
        text = end == std::string_view::npos ? std::string_view() : text.substr(end + 1);
        ++line;
        one = one.substr(0, one.find('#'));
        while (!one.empty() && (one.back() == '\r' || one.back() == ' ' || one.back() == '\t'))
            one.remove_suffix(1);
        const std::string plain_text = plain(one);
        if (plain_text.empty())
            continue;
        Reading<std::vector<Tool>> tools = read_line(plain_text);
        if (!tools)
            return tl::unexpected(
                fmt::format("{}, line {}: {} {}", name, line, tools.error().what, tools.error().remedy));
        for (Tool& tool : *tools) {
            tool.line = line;
            box.tools.push_back(std::move(tool));
        }
    }
    return box;
}

tl::expected<ToolBox, std::string> read_tools_of(const std::string& path) {
    const auto text = bytes_if_readable(path);
    if (!text || text->empty())
        return tl::unexpected(fmt::format("{}: cannot be read, or is empty; write one tool a line", path));
    return read_tools(*text, path);
}

std::string name_of(const Tool& tool) {
    switch (tool.kind) {
    case ToolKind::extension:
    case ToolKind::ratchet:
    case ToolKind::bar:
        return fmt::format("{} {} mm", word_of(tool.kind), print_number(tool.length_mm));
    case ToolKind::torque_wrench:
        return fmt::format("torque wrench {}..{} N·m", print_number(tool.low_nm), print_number(tool.high_nm));
    case ToolKind::pliers:
        return "pliers";
    case ToolKind::screwdriver:
        return "screwdriver " + tool.drive.name;
    case ToolKind::bit:
    case ToolKind::key:
        return fmt::format("{} {} {}",
                           tool.drive.kind == DriveKind::hexalobular ? "hexalobular"
                           : tool.drive.kind == DriveKind::square    ? "square"
                                                                     : "hexagon",
                           tool.kind == ToolKind::bit ? "bit" : "key", size_text(tool));
    default:
        return fmt::format("{}{} {}", tool.drive.kind == DriveKind::external_hexalobular ? "external hexalobular " : "",
                           word_of(tool.kind), size_text(tool));
    }
}

} // namespace boltwalk

// The list of tools that a person owns, read; and how large hand tools are.
#include "core/geometry/tools.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>

#include <fmt/format.h>

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
    {"hex bit", ToolKind::bit, "socket"},
    {"hexalobular key", ToolKind::key, "hexalobular"},
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

std::string trimmed(std::string_view text) {
    while (!text.empty() && text.front() == ' ')
        text.remove_prefix(1);
    while (!text.empty() && text.back() == ' ')
        text.remove_suffix(1);
    return std::string(text);
}

/// Cuts " word ..." off the end of `text` and returns what follows the word; empty when it is not there.
std::string cut(std::string& text, std::string_view word) {
    const std::string with = fmt::format(" {} ", word);
    const std::size_t at = text.find(with);
    if (at == std::string::npos)
        return "";
    std::string rest = trimmed(std::string_view(text).substr(at + with.size()));
    text = trimmed(std::string_view(text).substr(0, at));
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
    const std::string size = trimmed(rest);
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
                                                                     : "hex",
                           tool.kind == ToolKind::bit ? "bit" : "key", size_text(tool));
    default:
        return fmt::format("{}{} {}", tool.drive.kind == DriveKind::external_hexalobular ? "external hexalobular " : "",
                           word_of(tool.kind), size_text(tool));
    }
}

// ------------------------------------------------------------------------------------------------------- dimensions

namespace {

struct SquareRow {
    double square, outside, length, deep, reach, bit_length, extension, head, height, handle, ratchet;
};
// square    ISO 1174-1 nominal
// outside   of the socket at its driven end, the least for small sizes: ISO 2725-1, from memory
// length    of an ordinary socket: ISO 2725-1 series A maximum, from memory; deep: common practice, no source
// reach     length of the male square, ISO 1174-1 maximum as GOST 24372-80, table 1 has it (shared check values)
// bit       total length of a bit socket; extension: diameter over its ends; head, height (without square), handle,
//           ratchet: common practice, no source (ISO 3315 allows larger ones; from memory)
constexpr SquareRow squares[] = {
    {6.3, 13, 25, 50, 7.5, 37, 13, 26, 22, 16, 150},
    {10, 20, 32, 63, 11, 50, 17, 34, 28, 22, 200},
    {12.5, 24, 40, 78, 15.5, 60, 22, 44, 36, 26, 250},
};

/// The next larger one that has a row; of a square that is not stated the largest.
const SquareRow& row_of(double square_mm) {
    for (const SquareRow& row : squares)
        if (square_mm > 0 && square_mm <= row.square)
            return row;
    return squares[2];
}

struct KeyRow {
    double flats, longer, shorter;
};
// JIS B 4648:2008, standard lengths l1 and short arm l2, as quoted by a maker of couplings' public technical data;
// ISO 2936 has the same standard series, from memory.
constexpr KeyRow keys[] = {
    {0.7, 33, 7},  {0.9, 33, 11}, {1.3, 41, 13}, {1.5, 46.5, 15.5}, {2, 52, 18},    {2.5, 58.5, 20.5},
    {3, 66, 23},   {4, 74, 29},   {5, 85, 33},   {6, 96, 38},       {8, 108, 44},   {10, 122, 50},
    {12, 137, 57}, {14, 154, 70}, {17, 177, 80}, {19, 199, 89},     {22, 222, 102}, {24, 248, 114},
};

struct LobularRow {
    double number, diameter;
};
// ISO 10664, nominal A of the socket. From memory.
constexpr LobularRow lobular[] = {
    {6, 1.75},  {8, 2.4},   {10, 2.8},  {15, 3.35},  {20, 3.95},  {25, 4.5},  {27, 5.1},   {30, 5.6},
    {40, 6.75}, {45, 7.93}, {50, 8.95}, {55, 11.35}, {60, 13.45}, {70, 15.7}, {80, 17.75},
};

/// The flats of a hexagon key as thick as this one.
double key_flats(const Drive& drive) {
    if (drive.kind != DriveKind::hexalobular)
        return drive.size;
    for (const LobularRow& row : lobular)
        if (drive.size <= row.number)
            return row.diameter;
    return drive.size * 0.22;
}

const KeyRow& key_row(const Drive& drive) {
    const double flats = key_flats(drive);
    for (const KeyRow& row : keys)
        if (flats <= row.flats * 1.02)
            return row;
    return keys[std::size(keys) - 1];
}

constexpr double corners_by_flats = 1.1547005383792515; ///< of a hexagon, 2 / sqrt 3

} // namespace

double socket_outside_mm(double flats_mm, double square_mm) {
    // ISO 2725-1 (DIN 3124), maximum d1: 1.25 s + 2.2 mm for squares 6.3 and 10, 1.25 s + 3 mm for 12.5; from memory.
    // Sockets measured (shared check values) are 0 to 2 mm smaller.
    const SquareRow& row = row_of(square_mm);
    const double nut_end = 1.25 * flats_mm + (row.square > 10 ? 3.0 : 2.2);
    return std::max(nut_end, row.outside);
}
double socket_length_mm(double square_mm, bool deep) {
    return deep ? row_of(square_mm).deep : row_of(square_mm).length;
}
double square_length_mm(double square_mm) {
    return row_of(square_mm).reach;
}
double bit_outside_mm(double square_mm) {
    return row_of(square_mm).outside;
}
double bit_length_mm(double square_mm) {
    return row_of(square_mm).bit_length;
}
double extension_outside_mm(double square_mm) {
    return row_of(square_mm).extension;
}
double ratchet_head_mm(double square_mm) {
    return row_of(square_mm).head;
}
double ratchet_height_mm(double square_mm) {
    return row_of(square_mm).height;
}
double handle_width_mm(double square_mm) {
    return row_of(square_mm).handle;
}
double ratchet_length_mm(double square_mm) {
    return row_of(square_mm).ratchet;
}
double torque_wrench_length_mm(double high_nm) {
    // Click wrenches by their upper end: common practice, no source.
    return high_nm <= 30 ? 280 : high_nm <= 120 ? 390 : high_nm <= 220 ? 500 : 640;
}
double ring_outside_mm(double flats_mm) {
    // A line through the maximum outside diameters of box ends in U.S. CID A-A-1346A, 3.2 (7/16 to 3/4 in: 0.695,
    // 0.775, 0.868, 0.946, 1.125 in); out by 0.25 mm at most. ISO 3318 allows 1.5 s + 4 mm, from memory.
    return 1.376 * flats_mm + 2.4;
}
double ring_height_mm(double flats_mm) {
    return 0.5 * flats_mm + 2; // common practice, no source
}
double open_width_mm(double flats_mm) {
    // Between twice the room from axis to wall in GOST 13682-80 (E1 of the shared check values, 1.75 to 2.1 s; what the
    // letter means is inferred) and ISO 3318's maximum b1 = 2.1 s + 7 (from memory).
    return 1.9 * flats_mm + 2;
}
double open_height_mm(double flats_mm) {
    return 0.35 * flats_mm + 2; // common practice, no source
}
double spanner_length_mm(double flats_mm) {
    return 11 * flats_mm + 25; // DIN 3113 combination spanners are close to it; from memory
}
double spanner_width_mm(double flats_mm) {
    return 0.75 * flats_mm; // common practice, no source
}
double key_long_mm(const Drive& drive) {
    return key_row(drive).longer;
}
double key_short_mm(const Drive& drive) {
    return key_row(drive).shorter;
}
double key_thickness_mm(const Drive& drive) {
    return key_flats(drive) * corners_by_flats;
}
double gripped_mm(const Drive& drive) {
    switch (drive.kind) {
    case DriveKind::hex:
    case DriveKind::bihex:
        return drive.size;
    case DriveKind::external_hexalobular:
        return 0.93 * drive.size; // ISO 10664's outer diameters, a line through them; from memory
    default:
        return 0;
    }
}

} // namespace boltwalk

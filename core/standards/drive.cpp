#include <algorithm>
#include <cmath>
#include <fmt/format.h>

#include "core/measure/spelling.hpp"
#include "core/standards/reading.hpp"
#include "core/standards/standards.hpp"

namespace boltwalk {

using namespace spelling;

namespace {

constexpr double smallest_flats_mm = 0.3;
constexpr double largest_flats_mm = 200;

enum class Sizing { none, flats, number };

struct DriveWord {
    std::string_view word, name; ///< as read, as printed
    DriveKind kind;
    Sizing sizing;
    int low = 0, high = 0; ///< of the number
};

// ISO 10664 numbers the hexalobular drives, ISO 4757 the cross recesses (0 to 4).
constexpr DriveWord drive_words[] = {
    {"external hexalobular", "external hexalobular", DriveKind::external_hexalobular, Sizing::number, 1, 100},
    {"hexalobular", "hexalobular", DriveKind::hexalobular, Sizing::number, 1, 100},
    {"hexagon socket", "socket", DriveKind::socket, Sizing::flats},
    {"hex socket", "socket", DriveKind::socket, Sizing::flats},
    {"socket", "socket", DriveKind::socket, Sizing::flats},
    {"hexagon", "hex", DriveKind::hex, Sizing::flats},
    {"hex", "hex", DriveKind::hex, Sizing::flats},
    {"bihexagon", "bihex", DriveKind::bihex, Sizing::flats},
    {"bihex", "bihex", DriveKind::bihex, Sizing::flats},
    {"square", "square", DriveKind::square, Sizing::flats},
    {"slot", "slot", DriveKind::slot, Sizing::flats},
    {"cross", "cross", DriveKind::cross, Sizing::number, 0, 4},
    {"hand", "hand", DriveKind::hand, Sizing::none},
    {"pliers", "pliers", DriveKind::pliers, Sizing::none},
    {"none", "none", DriveKind::none, Sizing::none},
};

/// A size that a tool may have, so that it is worth repeating.
bool is_figure(std::string_view text) {
    constexpr std::size_t longest = 6; // "13.125"
    if (text.empty() || text.size() > longest || !is_digit(text.front())) {
        return false;
    }
    return take_number(text).has_value() && text.empty();
}

/// What a text that names no drive was probably meant to be.
std::string likely(std::string_view rest) {
    constexpr std::string_view all =
        "Write one of: hex, socket, hexalobular, external hexalobular, bihex, square, slot, "
        "cross with a size, or hand, pliers, none.";
    std::string_view mm = rest;
    if (mm.ends_with("mm")) {
        mm.remove_suffix(2);
        while (mm.ends_with(' ')) {
            mm.remove_suffix(1);
        }
    }
    if (is_figure(mm)) {
        return fmt::format("Say what the tool grips: \"hex {}\" for a spanner, \"socket {}\" for a hexagon key.", mm,
                           mm);
    }
    struct Code {
        std::string_view letters, name;
    };
    static constexpr Code codes[] = {
        {"t", "hexalobular"}, {"e", "external hexalobular"}, {"ph", "cross"}, {"pz", "cross"}};
    for (const Code& code : codes) {
        std::string_view ahead = rest;
        if (take(ahead, code.letters)) {
            skip_blanks(ahead);
            if (is_figure(ahead)) {
                return fmt::format("Write \"{} {}\".", code.name, ahead);
            }
        }
    }
    return std::string(all);
}

Reading<Drive> numbered_drive(const DriveWord& word, std::string_view rest, std::string_view text) {
    const Reading<double> number = take_number(rest);
    if (!number) {
        return tl::unexpected(number.error());
    }
    if (!rest.empty() || *number != std::floor(*number) || *number < word.low || *number > word.high) {
        return wrong(fmt::format("{} is no size of that drive: it has whole numbers from {} to {}.", quoted(text),
                                 word.low, word.high),
                     fmt::format("Write the number on the bit, for instance \"{} {}\".", word.name,
                                 word.kind == DriveKind::cross ? "2" : "40"));
    }
    return Drive{word.kind, *number, fmt::format("{} {}", word.name, print_number(*number))};
}

Reading<Drive> flats_drive(const DriveWord& word, std::string_view rest, std::string_view text) {
    if (rest.starts_with('-')) {
        return wrong(fmt::format("{} has a negative size.", quoted(text)),
                     fmt::format("Write the size like \"{} 14\".", word.name));
    }
    const Reading<Fraction> size = take_fraction(rest);
    if (!size) {
        return tl::unexpected(size.error());
    }
    skip_blanks(rest);
    const bool inches = rest == "in" || rest == "\"" || rest == "inch" || (rest.empty() && size->broken);
    if (!inches && !rest.empty() && rest != "mm") {
        return wrong(
            fmt::format("In {} it is not clear what {} means.", quoted(text), quoted(rest)),
            fmt::format("Write the size in millimetres, \"{} 14\", or inches, \"{} 9/16 in\".", word.name, word.name));
    }
    const double mm = inches ? size->value * mm_per_inch : size->value;
    if (mm < smallest_flats_mm || mm > largest_flats_mm) {
        return wrong(fmt::format("{} is {} mm wide.", quoted(text), print_number(mm, figures)),
                     "Check the size: it is the width across flats (of a slot, the blade's width).");
    }
    return Drive{word.kind, mm,
                 inches ? fmt::format("{} {} in", word.name, print_inches(size->value))
                        : fmt::format("{} {}", word.name, print_number(mm, figures))};
}

} // namespace

std::string tool_for(const Drive& drive) {
    const std::string_view size =
        std::string_view(drive.name).substr(std::min(drive.name.find(' '), drive.name.size()));
    switch (drive.kind) {
    case DriveKind::socket:
        return fmt::format("hexagon key{}", size);
    case DriveKind::hexalobular:
        return fmt::format("hexalobular key{}", size);
    case DriveKind::slot:
    case DriveKind::cross:
        return "screwdriver " + drive.name;
    case DriveKind::hand:
        return "by hand";
    case DriveKind::none:
        return "";
    default:
        return drive.name;
    }
}

std::string tool_for(const std::optional<Drive>& drive) {
    return drive ? tool_for(*drive) : "";
}

Reading<Drive> read_drive(std::string_view text) {
    const std::string plain_text = plain(text);
    std::string_view rest = plain_text;
    const auto* const word = std::find_if(std::begin(drive_words), std::end(drive_words), [&](const DriveWord& w) {
        return rest.starts_with(w.word) && (rest.size() == w.word.size() || !is_letter(rest[w.word.size()]));
    });
    if (word == std::end(drive_words)) {
        return wrong(fmt::format("{} names no drive.", quoted(text)), likely(rest));
    }
    rest.remove_prefix(word->word.size());
    if (rest.size() >= 2 && rest[0] == '-' && is_digit(rest[1])) { // "hex-14"
        rest.remove_prefix(1);
    }
    skip_blanks(rest);
    if (word->sizing == Sizing::none) {
        if (!rest.empty()) {
            return wrong(fmt::format("{} gives a size to what has none.", quoted(text)),
                         fmt::format("Write \"{}\" alone.", word->name));
        }
        return Drive{word->kind, 0, std::string(word->name)};
    }
    if (rest.empty()) {
        return wrong(fmt::format("{} has no size.", quoted(text)),
                     fmt::format("Write the size behind it, for instance \"{} {}\".", word->name,
                                 word->kind == DriveKind::cross         ? "2"
                                 : word->kind == DriveKind::hexalobular ? "40"
                                                                        : "12"));
    }
    return word->sizing == Sizing::number ? numbered_drive(*word, rest, text) : flats_drive(*word, rest, text);
}

} // namespace boltwalk

// The words that stand in a log, both ways, and entries as lines for people.
#include <algorithm>
#include <array>
#include <charconv>
#include <chrono>

#include <fmt/format.h>

#include "core/log/log.hpp"

namespace boltwalk {

namespace {

constexpr std::array<std::string_view, 12> deeds{"did",      "found",   "in-the-way", "moved",  "settled", "ticked",
                                                 "way-back", "way-out", "noted",      "closed", "struck",  "unknown"};
constexpr std::array<std::string_view, 23> verbs{
    "set-vehicle", "do-task",  "soak",     "mark",      "unload",   "prop",     "prove", "drain",
    "loosen",      "take-out", "let-down", "set-aside", "take-off", "transfer", "fit",   "put-back",
    "raise",       "start",    "seat",     "tighten",   "fill",     "unprop",   "mate"};
constexpr std::array<std::string_view, 13> mishaps{"absent",     "wrong-piece", "sheared",   "stripped", "rounded",
                                                   "stuck",      "cut-off",     "stud-came", "recut",    "insert",
                                                   "substitute", "lost",        "night"};
constexpr std::array<std::string_view, 5> wheres{"in-place", "tray", "scrapped", "missing", "never"};
constexpr std::array<std::string_view, 8> all_duties{"",           "buy",       "repair-hole", "chase-thread",
                                                     "clear-hole", "come-back", "undo-night",  "put-back"};
constexpr std::string_view remember_word = "remember";
constexpr std::array<std::string_view, 7> heads{"hex", "hex_flange", "cap", "button", "countersunk", "pan", "none"};

template <typename E, std::size_t N>
std::string_view word(const std::array<std::string_view, N>& words, E value) {
    const auto i = static_cast<std::size_t>(value);
    return i < N ? words[i] : std::string_view();
}

template <typename E, std::size_t N>
std::optional<E> value(const std::array<std::string_view, N>& words, std::string_view text) {
    const auto found = std::find(words.begin(), words.end(), text);
    if (found == words.end())
        return std::nullopt;
    return static_cast<E>(found - words.begin());
}

/// The kind that a text begins with, in the annotation's words or in people's; it is taken off the text.
std::optional<FastenerKind> take_fastener_kind(std::string_view& text) {
    const auto begins = [&](std::string_view word) {
        return text.substr(0, word.size()) == word && (text.size() == word.size() || text[word.size()] == ' ');
    };
    for (int i = 0; i <= static_cast<int>(FastenerKind::connector); ++i) {
        const auto kind = static_cast<FastenerKind>(i);
        for (const std::string_view word : {name_of(kind), spoken(kind)})
            if (begins(word)) {
                text = trimmed(text.substr(word.size()));
                return kind;
            }
    }
    return std::nullopt;
}

std::string in_words(const PieceKind& kind, std::string_view what, std::string_view head) {
    std::string out(what);
    if (!kind.thread.empty())
        out += " " + kind.thread;
    if (kind.length_mm > 0)
        out += " × " + print_number(kind.length_mm, 3);
    if (!head.empty())
        out += ", " + std::string(head);
    if (!kind.grade.empty())
        out += ", " + kind.grade;
    if (kind.thread.empty() && kind.length_mm <= 0)
        out += ", size not stated";
    return out;
}

std::string what_was(const Entry& e) {
    switch (e.deed) {
    case Deed::did:
        if (e.verb == Verb::set_vehicle)
            return fmt::format("did {} {}", word_of(e.verb), print_vehicle(e.vehicle));
        return fmt::format("did {} {}", word_of(e.verb), e.named);
    case Deed::found:
        return fmt::format("found {} {}", word_of(e.mishap), e.named);
    case Deed::in_the_way:
        return e.named.empty() ? std::string("in-the-way") : "in-the-way " + e.named;
    case Deed::moved:
        return fmt::format("moved {} to {}", e.named, word_of(e.whereabouts));
    case Deed::settled:
        return fmt::format("settled {}", word_of(e.duty));
    case Deed::unknown:
        return fmt::format("{} (of a later program) {}", e.unread, e.named);
    case Deed::noted:
        return e.named.empty() ? std::string("noted") : "noted " + e.named;
    default:
        return std::string(word_of(e.deed));
    }
}

} // namespace

std::string_view word_of(Deed deed) {
    return word(deeds, deed);
}
std::string_view word_of(Verb verb) {
    return word(verbs, verb);
}
std::string_view word_of(Mishap mishap) {
    return word(mishaps, mishap);
}
std::string_view word_of(Whereabouts where) {
    return word(wheres, where);
}
std::string_view word_of(Duty duty) {
    return duty == Duty::remember ? remember_word : word(all_duties, duty);
}
std::optional<Deed> read_deed(std::string_view text) {
    const auto deed = value<Deed>(deeds, text);
    return deed == Deed::unknown ? std::nullopt : deed;
}
std::optional<Verb> read_verb(std::string_view text) {
    return value<Verb>(verbs, text);
}
std::optional<Mishap> read_mishap(std::string_view text) {
    return value<Mishap>(mishaps, text);
}
std::optional<Whereabouts> read_whereabouts(std::string_view text) {
    return value<Whereabouts>(wheres, text);
}
std::optional<Duty> read_duty(std::string_view text) {
    return text == remember_word ? Duty::remember : value<Duty>(all_duties, text);
}

std::string_view spoken(Mishap mishap) {
    switch (mishap) {
    case Mishap::absent:
        return "Was not there";
    case Mishap::wrong_piece:
        return "Wrong one was in";
    case Mishap::sheared:
        return "Sheared";
    case Mishap::stripped:
        return "Thread stripped";
    case Mishap::rounded:
        return "Rounded";
    case Mishap::stuck:
        return "Stuck, left for later";
    case Mishap::cut_off:
        return "Cut off";
    case Mishap::stud_came:
        return "Stud came with its nut";
    case Mishap::recut:
        return "Thread cut again";
    case Mishap::insert_fitted:
        return "Thread insert fitted";
    case Mishap::substitute:
        return "Another one fitted";
    case Mishap::lost:
        return "Lost";
    case Mishap::back_for_night:
        return "Back by hand for the night";
    }
    return "";
}

std::string spoken_head(std::string_view head) {
    std::string words(head);
    std::replace(words.begin(), words.end(), '_', ' ');
    return words;
}

PieceKind kind_of(const Fastener& fastener) {
    return {fastener.kind, fastener.thread ? fastener.thread->name : "", fastener.head, fastener.grade,
            fastener.length_mm.value_or(0)};
}

std::string print_kind(const PieceKind& kind) {
    return in_words(kind, spoken(kind.what), spoken_head(kind.head));
}

std::string word_of(const PieceKind& kind) {
    return in_words(kind, name_of(kind.what), kind.head);
}

Reading<PieceKind> read_kind(std::string_view text, FastenerKind fallback) {
    PieceKind kind;
    kind.what = fallback;
    std::size_t from = text.find(',');
    std::string_view size = trimmed(text.substr(0, from));
    if (const auto what = take_fastener_kind(size))
        kind.what = *what;
    constexpr std::string_view times = "×";
    std::size_t sign = size.find(times);
    std::size_t length = times.size();
    if (sign == std::string_view::npos) {
        sign = size.rfind(" x ");
        length = 3;
    }
    if (sign != std::string_view::npos) {
        const auto read = read_length_mm(trimmed(size.substr(sign + length)));
        if (!read)
            return tl::unexpected(read.error());
        kind.length_mm = *read;
        size = trimmed(size.substr(0, sign));
    }
    if (!size.empty()) {
        const auto thread = read_thread(size);
        if (!thread)
            return tl::unexpected(thread.error());
        kind.thread = thread->name;
    }
    while (from != std::string_view::npos) {
        const std::size_t to = text.find(',', from + 1);
        const std::string_view part = trimmed(text.substr(from + 1, to == std::string_view::npos ? to : to - from - 1));
        const auto head = std::find_if(heads.begin(), heads.end(),
                                       [&](std::string_view one) { return part == one || part == spoken_head(one); });
        if (head != heads.end() && kind.head.empty())
            kind.head = *head;
        else if (!part.empty() && part != "size not stated")
            kind.grade += (kind.grade.empty() ? "" : ", ") + std::string(part);
        from = to;
    }
    return kind;
}

std::string print_time(std::int64_t at_ms) {
    using namespace std::chrono;
    const sys_time<milliseconds> at{milliseconds(at_ms)};
    const auto day = floor<days>(at);
    const year_month_day date(day);
    const auto rest = at - day;
    const auto seconds_of_day = rest.count() / 1000;
    return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:03}Z", static_cast<int>(date.year()),
                       static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()), seconds_of_day / 3600,
                       seconds_of_day / 60 % 60, seconds_of_day % 60, rest.count() % 1000);
}

std::optional<std::int64_t> read_time(std::string_view text) {
    // YYYY-MM-DDThh:mm:ss(.sss)Z, as RFC 3339 has it.
    const auto number = [&](std::size_t at, std::size_t length) {
        int out = -1;
        if (at + length <= text.size()) {
            const auto [end, error] = std::from_chars(text.data() + at, text.data() + at + length, out);
            if (error != std::errc() || end != text.data() + at + length)
                return -1;
        }
        return out;
    };
    constexpr std::string_view shape = "dddd-dd-ddTdd:dd:dd.dddZ";
    constexpr std::string_view short_shape = "dddd-dd-ddTdd:dd:ddZ";
    const std::string_view wanted = text.size() == short_shape.size() ? short_shape : shape;
    if (text.size() != wanted.size())
        return std::nullopt;
    for (std::size_t i = 0; i < text.size(); ++i)
        if (wanted[i] == 'd' ? text[i] < '0' || text[i] > '9' : text[i] != wanted[i])
            return std::nullopt;
    using namespace std::chrono;
    const year_month_day date{year(number(0, 4)), month(static_cast<unsigned>(number(5, 2))),
                              day(static_cast<unsigned>(number(8, 2)))};
    const int hour = number(11, 2), minute = number(14, 2), second = number(17, 2);
    const int milli = wanted == shape ? number(20, 3) : 0;
    if (!date.ok() || hour > 23 || minute > 59 || second > 59)
        return std::nullopt;
    const std::int64_t day_number = sys_days(date).time_since_epoch().count();
    return (((day_number * 24 + hour) * 60 + minute) * 60 + second) * 1000 + milli;
}

std::string print_entry(const Entry& e) {
    std::string time = print_time(e.at_ms).substr(0, 19);
    time[10] = ' ';
    std::string out = fmt::format("{:>4}  {}  {}", e.number > 0 ? std::to_string(e.number) : "-", time, what_was(e));
    if (e.piece == PieceFrom::fresh)
        out += " with a new one";
    else if (e.piece == PieceFrom::of_site)
        out += " with " + e.piece_named;
    if (e.as)
        out += " as " + print_kind(*e.as);
    if (!e.torque.empty())
        out += " at " + e.torque;
    if (e.pass > 0)
        out += fmt::format(" pass {} of {}", e.pass, e.passes);
    if (!e.step.empty())
        out += fmt::format(" ({})", e.step);
    if (!e.words.empty())
        out += ": " + e.words;
    return out;
}

} // namespace boltwalk

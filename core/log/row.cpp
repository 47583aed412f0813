#include "core/log/row.hpp"

#include <charconv>

#include "core/map/utf8.hpp"

namespace boltwalk::log_row {

namespace {

enum Column : std::size_t {
    key,
    at,
    deed,
    verb,
    item,
    step,
    vehicle,
    mishap,
    piece,
    piece_of,
    moved_to,
    kind,
    torque,
    pass,
    passes,
    duty,
    about,
    words
};

constexpr std::string_view fresh_word = "new";
constexpr std::string_view of_site_word = "of";

std::string number(int value) {
    return value == 0 ? std::string() : std::to_string(value);
}

/// Empty is 0; false where it is no number.
bool read_int(const std::string& text, int& out) {
    out = 0;
    if (text.empty())
        return true;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), out);
    return error == std::errc() && end == text.data() + text.size();
}

bool uses_verb(Deed d) {
    return d == Deed::did;
}

} // namespace

std::string well_formed(std::string_view text) {
    std::string out;
    out.reserve(text.size());
    for (std::size_t i = 0; i < text.size();) {
        const Utf8 next = decode_utf8(text, i);
        append_utf8(out, next.valid && next.point != 0 ? next.point : 0xFFFD);
        i += next.length;
    }
    return out;
}

Row to_row(const Entry& e) {
    Row row;
    row[key] = e.key;
    row[at] = print_time(e.at_ms);
    row[deed] = e.deed == Deed::unknown ? e.unread : std::string(word_of(e.deed));
    row[item] = e.named;
    row[step] = e.step;
    if (uses_verb(e.deed)) {
        row[verb] = word_of(e.verb);
        if (e.verb == Verb::set_vehicle)
            row[vehicle] = print_vehicle(e.vehicle);
    }
    if (e.deed == Deed::found)
        row[mishap] = word_of(e.mishap);
    if (e.piece != PieceFrom::usual)
        row[piece] = e.piece == PieceFrom::fresh ? fresh_word : of_site_word;
    row[piece_of] = e.piece_named;
    if (e.deed == Deed::moved)
        row[moved_to] = word_of(e.whereabouts);
    if (e.as)
        row[kind] = word_of(*e.as);
    row[torque] = e.torque;
    row[pass] = number(e.pass);
    row[passes] = number(e.passes);
    row[duty] = word_of(e.duty);
    row[about] = e.about;
    row[words] = e.words;
    for (std::string& text : row)
        text = well_formed(text);
    return row;
}

Entry from_row(const Row& row) {
    Entry e;
    bool good = true;
    e.key = row[key];
    e.named = row[item];
    e.step = row[step];
    e.piece_named = row[piece_of];
    e.torque = row[torque];
    e.about = row[about];
    e.words = row[words];
    e.at_ms = read_time(row[at]).value_or(0);
    const auto the_deed = read_deed(row[deed]);
    good = good && the_deed.has_value();
    e.deed = the_deed.value_or(Deed::unknown);
    if (uses_verb(e.deed)) {
        const auto the_verb = read_verb(row[verb]);
        good = good && the_verb.has_value();
        e.verb = the_verb.value_or(Verb::do_task);
        if (e.verb == Verb::set_vehicle) {
            const auto ask = read_vehicle(row[vehicle]);
            good = good && (ask.has_value() || row[vehicle].empty());
            e.vehicle = ask.value_or(VehicleAsk{});
        }
    }
    if (e.deed == Deed::found) {
        const auto the_mishap = read_mishap(row[mishap]);
        good = good && the_mishap.has_value();
        e.mishap = the_mishap.value_or(Mishap::absent);
    }
    if (row[piece] == fresh_word)
        e.piece = PieceFrom::fresh;
    else if (row[piece] == of_site_word)
        e.piece = PieceFrom::of_site;
    else
        good = good && row[piece].empty();
    if (e.deed == Deed::moved) {
        const auto to = read_whereabouts(row[moved_to]);
        good = good && to.has_value();
        e.whereabouts = to.value_or(Whereabouts::tray);
    }
    if (!row[kind].empty()) {
        const auto as = read_kind(row[kind], FastenerKind::bolt);
        good = good && as.has_value();
        if (as)
            e.as = *as;
    }
    good = read_int(row[pass], e.pass) && read_int(row[passes], e.passes) && good;
    const auto the_duty = read_duty(row[duty]);
    good = good && the_duty.has_value();
    e.duty = the_duty.value_or(Duty::none);
    if (!good) {
        e.deed = Deed::unknown;
        e.unread = row[deed];
    }
    return e;
}

} // namespace boltwalk::log_row

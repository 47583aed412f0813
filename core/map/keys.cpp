#include "core/map/keys.hpp"

#include <algorithm>
#include <array>

namespace boltwalk {

namespace {

constexpr std::uint8_t any_item = on_part | on_fastener | on_task;

constexpr std::array<Key, key_count> table{{
    {KeyId::part, "part", on_part, false, false, ""},
    {KeyId::fastener, "fastener", on_fastener, true, false,
     "bolt|screw|nut|castle_nut|stud|washer|spacer|shim|split_pin|pin|lock_wire|tab|clip|clamp|hanger|plug|drain_plug|"
     "fill_plug|level_plug|connector"},
    {KeyId::task, "task", on_task, false, false, ""},
    {KeyId::group, "group", on_group, false, false, ""},
    {KeyId::job, "job", on_scene, false, false, ""},
    {KeyId::vehicle, "vehicle", on_scene, false, false, ""},
    {KeyId::target, "target", on_scene, false, false, ""},
    {KeyId::caution, "caution", on_scene | any_item, true, false, ""},
    {KeyId::source, "source", on_scene | any_item, true, false, ""},
    {KeyId::step, "step", any_item, true, false, ""},
    {KeyId::after, "after", any_item, true, false, ""},
    {KeyId::refit_after, "refit_after", any_item, true, false, ""},
    {KeyId::refit_free, "refit_free", any_item, true, false, ""},
    {KeyId::not_in_way, "not_in_way", any_item, true, false, ""},
    {KeyId::from, "from", any_item, true, false, "under|over|left|right|front|rear|inside"},
    {KeyId::people, "people", any_item, true, false, ""},
    {KeyId::needs, "needs", any_item, true, false, ""},
    {KeyId::note, "note", any_item, true, false, ""},
    {KeyId::refit_note, "refit_note", any_item, true, false, ""},
    {KeyId::refit_caution, "refit_caution", any_item, true, false, ""},
    {KeyId::photo, "photo", any_item, true, false, ""},
    {KeyId::id, "id", any_item, false, false, ""},
    {KeyId::count, "count", on_group, false, false, ""},
    {KeyId::holds, "holds", on_fastener, true, false, ""},
    {KeyId::joint, "joint", on_fastener, false, false, ""},
    {KeyId::stack, "stack", on_fastener, true, false, ""},
    {KeyId::turn, "turn", on_fastener, true, true, "head|nut"},
    {KeyId::secures, "secures", on_fastener, false, false, ""},
    {KeyId::thread, "thread", on_fastener, true, true, ""},
    {KeyId::length_mm, "length_mm", on_fastener, true, true, ""},
    {KeyId::head, "head", on_fastener, true, true, "hex|hex_flange|cap|button|countersunk|pan|none"},
    {KeyId::drive, "drive", on_fastener, true, true, ""},
    {KeyId::grade, "grade", on_fastener, true, true, ""},
    {KeyId::hand, "hand", on_fastener, true, true, "right|left"},
    {KeyId::counter, "counter", on_fastener, true, true, ""},
    {KeyId::counter_from, "counter_from", on_fastener, true, true, "under|over|left|right|front|rear|inside"},
    {KeyId::held_through, "held_through", on_fastener, true, true, ""},
    {KeyId::torque, "torque", on_fastener, true, true, ""},
    {KeyId::torque_after, "torque_after", on_fastener, true, true, ""},
    {KeyId::pattern, "pattern", on_fastener, true, true, "star|circle|centre_out"},
    {KeyId::passes, "passes", on_fastener, true, true, ""},
    {KeyId::slot, "slot", on_fastener, true, true, "onward|back"},
    {KeyId::renew, "renew", on_fastener | on_part, true, false, ""},
    {KeyId::lock, "lock", on_fastener, true, true, ""},
    {KeyId::condition, "condition", on_fastener, true, true, ""},
    {KeyId::soak_min, "soak_min", on_fastener, true, true, ""},
    {KeyId::frees_when, "frees_when", on_fastener, true, false, "out|slack|nut_off"},
    {KeyId::leaves_with, "leaves_with", on_fastener, true, false, ""},
    {KeyId::captive_in, "captive_in", on_fastener, true, false, ""},
    {KeyId::own_place, "own_place", on_fastener, true, false, ""},
    {KeyId::axis, "axis", on_fastener, false, false, ""},
    {KeyId::fixed, "fixed", on_part, true, false, ""},
    {KeyId::mass_kg, "mass_kg", on_part, false, false, ""},
    {KeyId::material, "material", on_part, true, false,
     "steel|cast_steel|cast_iron|ductile_iron|malleable_iron|aluminium|magnesium|brass|titanium|rubber"},
    {KeyId::transfer, "transfer", on_part, true, false, ""},
    {KeyId::road_wheel, "road_wheel", on_part, true, false, ""},
    {KeyId::way, "way", on_part, true, false, ""},
    {KeyId::lower, "lower", on_part, true, false, ""},
    {KeyId::aside, "aside", on_part, true, false, ""},
    {KeyId::hang_from, "hang_from", on_part, true, false, ""},
    {KeyId::tether, "tether", on_part, true, false, ""},
    {KeyId::support, "support", on_part, true, false, "jack|stand|helper|strap"},
    {KeyId::carried_by, "carried_by", on_part, true, false, ""},
    {KeyId::lift_point, "lift_point", on_part, true, false, ""},
    {KeyId::loaded, "loaded", on_part, true, false, ""},
    {KeyId::turns, "turns", on_part, true, false, ""},
    {KeyId::adjust, "adjust", on_part, true, false, ""},
    {KeyId::flexible, "flexible", on_part, true, false, ""},
    {KeyId::fluid, "fluid", on_part, true, false, ""},
    {KeyId::amount_l, "amount_l", on_part, false, false, ""},
    {KeyId::opens, "opens", on_part, true, false, ""},
    {KeyId::when, "when", on_task, true, false, "strip|refit|both"},
    {KeyId::gate, "gate", on_task, true, false, ""},
    {KeyId::does, "does", on_task, true, false, "prop|mark|unload|soak|prove|drain|fill|level"},
    {KeyId::to, "to", on_task, true, false, ""},
    {KeyId::sets, "sets", on_task, true, false, ""},
}};

constexpr bool is_in_order() {
    for (std::size_t i = 0; i < table.size(); ++i) {
        if (static_cast<std::size_t>(table[i].id) != i) {
            return false;
        }
    }
    return true;
}
static_assert(is_in_order(), "the table stands in the order of KeyId");

/// Small letters, "-" and spaces as "_": "Length MM" was meant to be "length_mm" without a doubt.
std::string plain_spelling(std::string_view word) {
    std::string out(word);
    for (char& c : out) {
        if (c >= 'A' && c <= 'Z') {
            c = static_cast<char>(c - 'A' + 'a');
        } else if (c == '-' || c == ' ') {
            c = '_';
        }
    }
    return out;
}

/// Longer than any key and two letters: no misspelling of one.
constexpr std::size_t longest_misspelling = 16;

} // namespace

std::span<const Key> all_keys() {
    return table;
}

const Key& key_of(KeyId id) {
    return table[static_cast<std::size_t>(id)];
}

std::optional<KeyId> find_key(std::string_view name) {
    static const std::array<KeyId, key_count> sorted = [] {
        std::array<KeyId, key_count> ids{};
        for (std::size_t i = 0; i < key_count; ++i) {
            ids[i] = table[i].id;
        }
        std::sort(ids.begin(), ids.end(), [](KeyId a, KeyId b) { return key_of(a).name < key_of(b).name; });
        return ids;
    }();
    const auto* at = std::lower_bound(sorted.begin(), sorted.end(), name,
                                      [](KeyId a, std::string_view wanted) { return key_of(a).name < wanted; });
    if (at == sorted.end() || key_of(*at).name != name) {
        return std::nullopt;
    }
    return *at;
}

std::size_t edit_distance(std::string_view a, std::string_view b, std::size_t limit) {
    const std::size_t difference = a.size() > b.size() ? a.size() - b.size() : b.size() - a.size();
    if (difference > limit) {
        return limit + 1;
    }
    std::vector<std::size_t> before(b.size() + 1);
    std::vector<std::size_t> last(b.size() + 1);
    std::vector<std::size_t> now(b.size() + 1);
    for (std::size_t j = 0; j <= b.size(); ++j) {
        last[j] = j;
    }
    for (std::size_t i = 1; i <= a.size(); ++i) {
        now[0] = i;
        std::size_t least = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const std::size_t change = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
            now[j] = std::min({change, last[j] + 1, now[j - 1] + 1});
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                now[j] = std::min(now[j], before[j - 2] + 1);
            }
            least = std::min(least, now[j]);
        }
        if (least > limit) {
            return limit + 1;
        }
        std::swap(before, last);
        std::swap(last, now);
    }
    return std::min(last[b.size()], limit + 1);
}

std::size_t near_limit(std::size_t letters) {
    return letters <= 3 ? 0 : letters <= 5 ? 1 : 2;
}

std::optional<KeyId> near_key(std::string_view unknown) {
    if (unknown.empty() || unknown.size() > longest_misspelling) {
        return std::nullopt;
    }
    const std::string word = plain_spelling(unknown);
    std::optional<KeyId> best;
    std::size_t best_distance = 3;
    for (const Key& key : table) {
        const bool unit_left_out =
            key.name.starts_with(word + "_") && (key.name.ends_with("_mm") || key.name.ends_with("_kg") ||
                                                 key.name.ends_with("_l") || key.name.ends_with("_min"));
        if (word == key.name || unit_left_out) {
            return key.id;
        }
        const std::size_t limit = near_limit(std::min(word.size(), key.name.size()));
        const std::size_t distance = edit_distance(word, key.name, limit);
        // Two letters off and another first one is another word: "course" is no "source".
        if (distance <= limit && distance < best_distance && (distance < 2 || word[0] == key.name[0])) {
            best = key.id;
            best_distance = distance;
        }
    }
    return best;
}

bool names_items(KeyId id) {
    switch (id) {
    case KeyId::after:
    case KeyId::refit_after:
    case KeyId::refit_free:
    case KeyId::not_in_way:
    case KeyId::holds:
    case KeyId::secures:
    case KeyId::held_through:
    case KeyId::torque_after:
    case KeyId::leaves_with:
    case KeyId::captive_in:
    case KeyId::tether:
    case KeyId::carried_by:
    case KeyId::opens:
    case KeyId::to:
        return true;
    default:
        return false;
    }
}

std::vector<std::string_view> choices_of(const Key& key) {
    std::vector<std::string_view> choices;
    for (std::size_t begin = 0; !key.choices.empty() && begin <= key.choices.size();) {
        const std::size_t end = std::min(key.choices.find('|', begin), key.choices.size());
        choices.push_back(key.choices.substr(begin, end - begin));
        begin = end + 1;
    }
    return choices;
}

std::optional<std::string_view> near_choice(const Key& key, std::string_view word) {
    const std::string plain = plain_spelling(word);
    // What people call it otherwise: a place to work from is where the person is, not a face of the part.
    constexpr std::array<std::array<std::string_view, 2>, 8> places{{{"top", "over"},
                                                                     {"above", "over"},
                                                                     {"up", "over"},
                                                                     {"bottom", "under"},
                                                                     {"below", "under"},
                                                                     {"beneath", "under"},
                                                                     {"down", "under"},
                                                                     {"back", "rear"}}};
    for (const auto& [said, meant] : places) {
        if ((key.id == KeyId::from || key.id == KeyId::counter_from) && said == plain) {
            return meant;
        }
    }
    for (const std::string_view choice : choices_of(key)) {
        if (edit_distance(plain, choice, 2) <= std::min<std::size_t>(2, choice.size() / 2)) {
            return choice;
        }
    }
    return std::nullopt;
}

} // namespace boltwalk

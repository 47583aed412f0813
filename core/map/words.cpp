// The annotation's fixed words, both ways.

#include <array>

#include <fmt/format.h>

#include "core/map/keys.hpp"
#include "core/map/map.hpp"
#include "core/map/values.hpp"

namespace boltwalk {

namespace {

constexpr std::array<std::string_view, 8> place_words{"", "under", "over", "left", "right", "front", "rear", "inside"};
constexpr std::array<std::string_view, 6> ways{"front", "rear", "left", "right", "up", "down"};

using VehicleField = Ask VehicleAsk::*;

struct VehicleWord {
    std::string_view word;
    VehicleField field;
    Ask value;
};
/// In the order in which they are printed.
constexpr std::array<VehicleWord, 12> vehicle_words{{
    {"stands", &VehicleAsk::stands, Ask::yes},
    {"wheels down", &VehicleAsk::stands, Ask::no},
    {"chocked", &VehicleAsk::chocked, Ask::yes},
    {"unchocked", &VehicleAsk::chocked, Ask::no},
    {"brake on", &VehicleAsk::brake, Ask::yes},
    {"brake off", &VehicleAsk::brake, Ask::no},
    {"in gear", &VehicleAsk::gear, Ask::yes},
    {"neutral", &VehicleAsk::gear, Ask::no},
    {"battery on", &VehicleAsk::battery, Ask::yes},
    {"battery off", &VehicleAsk::battery, Ask::no},
    {"steering straight", &VehicleAsk::straight, Ask::yes},
    {"steering turned", &VehicleAsk::straight, Ask::no},
}};

} // namespace

std::string_view name_of(Place place) {
    return place_words[static_cast<std::size_t>(place)];
}

std::string_view name_of(FastenerKind kind) {
    static const std::vector<std::string_view> names = choices_of(key_of(KeyId::fastener));
    return names[static_cast<std::size_t>(kind)];
}

bool goes_over_a_shank(FastenerKind kind) {
    switch (kind) {
    case FastenerKind::nut:
    case FastenerKind::castle_nut:
    case FastenerKind::washer:
    case FastenerKind::spacer:
    case FastenerKind::shim:
        return true;
    default:
        return false;
    }
}

std::string_view spoken(FastenerKind kind) {
    switch (kind) {
    case FastenerKind::castle_nut:
        return "castle nut";
    case FastenerKind::split_pin:
        return "split pin";
    case FastenerKind::lock_wire:
        return "lock wire";
    case FastenerKind::drain_plug:
        return "drain plug";
    case FastenerKind::fill_plug:
        return "fill plug";
    case FastenerKind::level_plug:
        return "level plug";
    default:
        return name_of(kind);
    }
}

std::array<double, 3> direction_of(Way way) {
    switch (way) {
    case Way::front:
        return {0, 0, 1};
    case Way::rear:
        return {0, 0, -1};
    case Way::left:
        return {1, 0, 0};
    case Way::right:
        return {-1, 0, 0};
    case Way::up:
        return {0, 1, 0};
    case Way::down:
        return {0, -1, 0};
    }
    return {0, 0, 0};
}

std::string print_vehicle(const VehicleAsk& ask) {
    std::string out;
    for (const VehicleWord& known : vehicle_words) {
        if (ask.*known.field == known.value) {
            out += out.empty() ? "" : "; ";
            out += known.word;
        }
    }
    return out;
}

bool take_vehicle_word(std::string_view word, VehicleAsk& ask, bool& contradicts) {
    for (const VehicleWord& known : vehicle_words) {
        if (known.word == word) {
            contradicts = ask.*known.field != Ask::nothing && ask.*known.field != known.value;
            ask.*known.field = known.value;
            return true;
        }
    }
    return false;
}

Reading<VehicleAsk> read_vehicle(std::string_view text) {
    VehicleAsk ask;
    const std::vector<std::string> words = split_list(text);
    if (words.empty()) {
        return tl::unexpected(Mistake{"No state of the vehicle is named.", "Write one, such as \"stands\"."});
    }
    for (const std::string& written : words) {
        const std::string word = lower_case(written);
        bool contradicts = false;
        if (!take_vehicle_word(word, ask, contradicts)) {
            std::string all;
            for (const VehicleWord& known : vehicle_words) {
                all += all.empty() ? "" : ", ";
                all += known.word;
            }
            for (const VehicleWord& known : vehicle_words) {
                if (edit_distance(word, known.word, 2) <= 2) {
                    return tl::unexpected(Mistake{fmt::format("\"{}\" is no state of the vehicle.", written),
                                                  fmt::format("Did you mean \"{}\"?", known.word)});
                }
            }
            return tl::unexpected(Mistake{fmt::format("\"{}\" is no state of the vehicle.", written),
                                          fmt::format("Write one of: {}; several joined by \";\".", all)});
        }
        if (contradicts) {
            return tl::unexpected(Mistake{fmt::format("\"{}\" contradicts what stands before it.", written),
                                          "State each thing about the vehicle once."});
        }
    }
    return ask;
}

Reading<Place> read_place(std::string_view text) {
    const std::string word = lower_case(trimmed(text));
    for (std::size_t i = 1; i < place_words.size(); ++i) {
        if (place_words[i] == word) {
            return static_cast<Place>(i);
        }
    }
    const auto near = near_choice(key_of(KeyId::from), word);
    return tl::unexpected(
        Mistake{"That is no place to work from.", near ? fmt::format("Did you mean \"{}\"?", *near)
                                                       : "Write under, over, left, right, front, rear or inside."});
}

Reading<std::vector<Leg>> read_legs(std::string_view text) {
    std::vector<Leg> legs;
    for (const std::string& piece : split_list(text)) {
        const std::size_t space = std::min(piece.find(' '), piece.size());
        const std::string word = lower_case(std::string_view(piece).substr(0, space));
        std::size_t way = 0;
        while (way < ways.size() && ways[way] != word) {
            ++way;
        }
        if (way == ways.size()) {
            return tl::unexpected(Mistake{fmt::format("\"{}\" starts with no direction.", piece),
                                          "Write front, rear, left, right, up or down and a length: \"rear 40 mm; down "
                                          "600 mm\"."});
        }
        const Reading<double> length = read_length_mm(std::string_view(piece).substr(space));
        if (!length) {
            return tl::unexpected(
                Mistake{fmt::format("\"{}\": {}", piece, length.error().what), length.error().remedy});
        }
        if (!(*length > 0 && *length <= longest_leg_mm)) {
            return tl::unexpected(Mistake{fmt::format("\"{}\" is no length to move a part by.", piece),
                                          "Write more than nothing and at most 100 m."});
        }
        legs.push_back({static_cast<Way>(way), *length});
    }
    if (legs.empty()) {
        return tl::unexpected(Mistake{"No direction is named.", "Write for example \"down 600 mm\"."});
    }
    return legs;
}

} // namespace boltwalk

// Single fields of the JSON, checked: an index within its array, a count, so many numbers.

#include <cmath>

#include <fmt/format.h>

#include "core/map/gltf.hpp"

namespace boltwalk {

namespace {

bool wrong_type(Gltf& gltf, TokenId value, std::string_view key, std::string_view wanted, const std::string& where) {
    return gltf.refuse(fmt::format("{}: \"{}\" is {}, not {}. Export the map again", where, key,
                                   spoken(gltf.json[value].kind), wanted));
}

/// A whole number from 0 to 2^53, the largest range in which a double is exact.
bool read_whole(Gltf& gltf, TokenId value, std::string_view key, const std::string& where, double& out) {
    if (!gltf.json.is(value, JsonKind::number)) {
        return wrong_type(gltf, value, key, "a whole number", where);
    }
    out = number_of(gltf.json, value);
    if (!(out >= 0 && out <= 9007199254740992.0) || out != std::floor(out)) {
        return gltf.refuse(fmt::format("{}: \"{}\" is {}, where a whole number from 0 is wanted. Export the map again",
                                       where, key, gltf.json.raw(value).substr(0, 40)));
    }
    return true;
}

} // namespace

bool read_index(Gltf& gltf, TokenId object, std::string_view key, std::size_t limit, const std::string& where,
                int& out) {
    out = -1;
    const TokenId value = find_member(gltf.json, object, key);
    if (value == no_token) {
        return true;
    }
    double number = 0;
    if (!read_whole(gltf, value, key, where, number)) {
        return false;
    }
    if (number >= static_cast<double>(limit)) {
        return gltf.refuse(fmt::format("{}: \"{}\" is {:.0f}, and the file has {} of those, counted from 0. Export the "
                                       "map again",
                                       where, key, number, limit));
    }
    out = static_cast<int>(number);
    return true;
}

bool read_size(Gltf& gltf, TokenId object, std::string_view key, const std::string& where, std::size_t& out) {
    const TokenId value = find_member(gltf.json, object, key);
    double number = 0;
    if (value == no_token) {
        return true;
    }
    if (!read_whole(gltf, value, key, where, number)) {
        return false;
    }
    out = static_cast<std::size_t>(number);
    return true;
}

bool read_numbers(Gltf& gltf, TokenId object, std::string_view key, const std::string& where, std::span<double> out,
                  bool& present) {
    const TokenId value = find_member(gltf.json, object, key);
    present = value != no_token;
    if (!present) {
        return true;
    }
    if (out.size() == 1 && gltf.json.is(value, JsonKind::number)) {
        out[0] = number_of(gltf.json, value);
        return true;
    }
    std::size_t count = 0;
    if (gltf.json.is(value, JsonKind::array)) {
        for (TokenId at = value + 1; at < gltf.json[value].next; at = gltf.json[at].next) {
            if (!gltf.json.is(at, JsonKind::number) || count == out.size()) {
                count = 0;
                break;
            }
            out[count++] = number_of(gltf.json, at);
        }
    }
    if (count != out.size()) {
        return gltf.refuse(
            fmt::format("{}: \"{}\" should be {} numbers. Export the map again", where, key, out.size()));
    }
    return true;
}

bool read_objects(Gltf& gltf, std::string_view key, std::vector<TokenId>& out) {
    const TokenId array = find_member(gltf.json, 0, key);
    if (array == no_token) {
        return true;
    }
    if (!gltf.json.is(array, JsonKind::array)) {
        return wrong_type(gltf, array, key, "an array", "the file");
    }
    out = elements_of(gltf.json, array);
    if (out.size() > free_objects + gltf.bytes_read / bytes_per_object) {
        return gltf.refuse(fmt::format("{} {} in a file of {} bytes are more than any model has: it is damaged, or was "
                                       "made to be large. Export the map again",
                                       out.size(), key, gltf.bytes_read));
    }
    for (std::size_t i = 0; i < out.size(); ++i) {
        if (!gltf.json.is(out[i], JsonKind::object)) {
            return wrong_type(gltf, out[i], fmt::format("{}[{}]", key, i), "an object", "the file");
        }
    }
    return true;
}

std::string say_object(const Gltf& gltf, std::string_view kind, std::size_t index, TokenId object) {
    const TokenId name = find_member(gltf.json, object, "name");
    if (!gltf.json.is(name, JsonKind::text)) {
        return fmt::format("{} {}", kind, index);
    }
    return fmt::format("{} {} \"{}\"", kind, index, text_of(gltf.json, name).substr(0, 200));
}

} // namespace boltwalk

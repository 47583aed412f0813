#include "core/table/columns.hpp"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "core/map/values.hpp"
#include "core/measure/measure.hpp"
#include "core/table/extras.hpp"

namespace boltwalk::table_inside {

namespace {

bool is_number(KeyId key) {
    return key == KeyId::length_mm || key == KeyId::soak_min;
}
bool is_whole(KeyId key) {
    return key == KeyId::stack || key == KeyId::step || key == KeyId::people || key == KeyId::count;
}
bool is_yes_no(KeyId key) {
    return key == KeyId::renew || key == KeyId::own_place;
}

/// A torque whose unit stands in the heading: "64", "69-78", "40 + 90°".
std::string with_unit(const std::string& cell, const std::string& unit) {
    if (unit.empty() || read_torque(cell))
        return cell;
    std::string out;
    for (std::size_t at = 0; at <= cell.size();) {
        const std::size_t end = std::min(cell.find(';', at), cell.size());
        const std::string_view stage = trimmed(std::string_view(cell).substr(at, end - at));
        const std::size_t plus = stage.find('+');
        const std::string_view torque = trimmed(stage.substr(0, plus));
        std::string one(torque);
        if (!torque.empty())
            one += " " + unit;
        if (plus != std::string_view::npos)
            one += (one.empty() ? "" : " ") + std::string(stage.substr(plus));
        out += (out.empty() ? "" : "; ") + one;
        at = end + 1;
    }
    return read_torque(out) ? out : cell;
}

} // namespace

Column column_of(const std::string& heading) {
    const std::size_t bracket = heading.find_first_of("([");
    std::string name = lower_case(trimmed(std::string_view(heading).substr(0, bracket)));
    std::replace(name.begin(), name.end(), ' ', '_');
    Column out;
    if (bracket != std::string::npos) {
        const std::size_t end = heading.find_first_of(")]", bracket);
        out.unit = trimmed(std::string_view(heading).substr(bracket + 1, end == std::string::npos ? std::string::npos
                                                                                                  : end - bracket - 1));
    }
    out.word = name;
    out.name = name == "name" || name == "node";
    if (out.name)
        return out;
    auto key = find_key(name);
    if (!key)
        for (const char* unit : {"_mm", "_min"}) // "length [in]"
            if (!key)
                key = find_key(name + unit);
    if (key && is_column(key_of(*key)))
        out.key = &key_of(*key);
    return out;
}

nlohmann::json json_of(const std::string& cell, const Key& key, const std::string& unit) {
    if (key.id == KeyId::length_mm) {
        std::string with = cell;
        const bool is_fraction = cell.find('/') != std::string::npos && cell.find_first_of("\"im") == std::string::npos;
        if (!unit.empty() && (is_fraction || read_number(cell)))
            with += " " + unit;
        if (const auto length = read_length_mm(with)) {
            const double rounded = read_number(print_number(*length, 4)).value_or(*length);
            return rounded == static_cast<double>(static_cast<long long>(rounded))
                       ? nlohmann::json(static_cast<long long>(rounded))
                       : nlohmann::json(rounded);
        }
    }
    if (is_number(key.id) || is_whole(key.id)) {
        if (const auto number = read_number(cell)) {
            if (*number == static_cast<double>(static_cast<long long>(*number)))
                return static_cast<long long>(*number);
            return *number;
        }
    }
    if (is_yes_no(key.id)) {
        const std::string word = lower_case(cell);
        if (word == "true" || word == "yes" || word == "1" || word == "x")
            return true;
        if (word == "false" || word == "no" || word == "0")
            return false;
    }
    if (key.id == KeyId::torque)
        return with_unit(cell, unit);
    return cell;
}

bool is_unit_of(const Key& key, const std::string& unit) {
    switch (key.id) {
    case KeyId::torque:
        return read_torque_unit(unit).has_value();
    case KeyId::length_mm:
        return read_length_mm("1 " + unit).has_value();
    case KeyId::soak_min:
        return unit == "min";
    default:
        return false;
    }
}

std::string remedy_for_unknown(const Column& column) {
    struct Asked {
        KeyId key;
        std::string_view what, heading;
    };
    for (const Asked& asked : {Asked{KeyId::torque, "torque", "torque"}, Asked{KeyId::length_mm, "length", "length_mm"},
                               Asked{KeyId::soak_min, "time to soak", "soak_min"}})
        if (!column.unit.empty() && is_unit_of(key_of(asked.key), column.unit))
            return fmt::format("If it is the {}, write {} [{}]; else take the column out.", asked.what, asked.heading,
                               column.unit);
    if (const auto near = near_key(column.word))
        return fmt::format("Perhaps {}?", key_of(*near).name);
    std::string known = "name";
    for (const KeyId id : usual_columns)
        known += fmt::format(", {}", key_of(id).name);
    return fmt::format("Known are {} and more that core/map/annotation.md lists; rename it, or take the column out.",
                       known);
}

} // namespace boltwalk::table_inside

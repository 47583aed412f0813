#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <tuple>

#include <fmt/format.h>

#include "core/map/files.hpp"
#include "core/map/values.hpp"
#include "core/table/extras.hpp"
#include "core/table/table.hpp"

namespace boltwalk {

using namespace table_inside;

namespace {

constexpr std::string_view taken_away = "(none)";

struct Column {
    const Key* key = nullptr; ///< null: `name`, or one that is not read
    bool name = false;
    std::string unit; ///< of the heading; empty: none
};

/// One cell on its way into the map.
struct Wanted {
    Change change;
    int line = 0;
    std::string column, name;
};

bool is_number(KeyId key) {
    return key == KeyId::length_mm || key == KeyId::soak_min;
}
bool is_whole(KeyId key) {
    return key == KeyId::stack || key == KeyId::step || key == KeyId::people || key == KeyId::count;
}
bool is_yes_no(KeyId key) {
    return key == KeyId::renew || key == KeyId::own_place;
}

/// "torque (lbf·ft)", "length [mm]": the key and its unit.
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

/// What the cell says as JSON, as the annotation would have it; what cannot be understood stays as it is, and the
/// reader says what is wrong with it.
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

using Judged = std::tuple<std::string, std::string, std::string, std::string, std::string>;
Judged same(const Finding& finding) {
    return {finding.rule, finding.nodes.empty() ? std::string() : finding.nodes.front(), finding.key, finding.value,
            finding.what};
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

struct Comparison {
    const Map& map;
    std::span<const std::byte> file;
    const Table& table;
    TableChanges out{};
    std::vector<Column> columns{};
    std::vector<Wanted> wanted{};
    std::map<std::string, ItemId> item_of{}; ///< the first of each name

    void columns_read();
    void rows_read(const Extras&, const std::vector<TableNode>&);
    void judged();
};

void Comparison::columns_read() {
    std::set<std::string> seen;
    for (const std::string& heading : table.heading) {
        Column column = column_of(heading);
        const std::string name = lower_case(heading);
        if (!heading.empty() && !column.name && column.key == nullptr && name != "what") {
            const auto near = near_key(name);
            out.wrong.push_back({0, heading, "", "No key of a fastener is called so.",
                                 near ? fmt::format("Perhaps {}?", key_of(*near).name)
                                      : "core/map/annotation.md lists the keys; take the column out."});
        }
        const std::string what = column.name ? "name" : column.key != nullptr ? std::string(column.key->name) : "";
        if (!what.empty() && !seen.insert(what).second) {
            out.wrong.push_back(
                {0, heading, "", fmt::format("A second column for {}.", what), "Take one of them out."});
            column = {};
        }
        if (column.key != nullptr && !column.unit.empty() && !is_unit_of(*column.key, column.unit)) {
            out.wrong.push_back({0, heading, "", fmt::format("“{}” is no unit of {}.", column.unit, column.key->name),
                                 "N·m, lbf·ft, lbf·in, kgf·m, kgf·cm for torque; mm, cm, m, in for length_mm; min for "
                                 "soak_min; no other key has one."});
            column.key = nullptr;
        }
        columns.push_back(std::move(column));
    }
    if (seen.count("name") == 0)
        out.wrong.push_back({0, "name", "", "There is no column called name.",
                             "Add one with the node's or the group's name in each row."});
}

void Comparison::rows_read(const Extras& extras, const std::vector<TableNode>& nodes) {
    std::map<std::string, std::vector<const TableNode*>> by_name;
    for (const TableNode& node : nodes)
        by_name[node.name].push_back(&node);
    std::map<const TableNode*, int> line_of;
    for (const TableRow& row : table.rows) {
        std::string name;
        for (std::size_t c = 0; c < columns.size() && c < row.cells.size(); ++c)
            if (columns[c].name)
                name = row.cells[c];
        const auto found = by_name.find(name);
        if (name.empty() || found == by_name.end()) {
            const ItemId item = name.empty() ? ItemId{} : find_item(map, name);
            out.wrong.push_back(
                {row.line, "", name,
                 name.empty() ? std::string("The row has no name.")
                 : item
                     ? fmt::format("It is a {}, and a table speaks of fasteners.", map.is_part(item) ? "part" : "task")
                     : std::string("No fastener and no group of fasteners is named so."),
                 name.empty() ? "Write the node's or the group's name." : "Correct the name, or take the row out."});
            out.rows_without_node.push_back(name);
            continue;
        }
        if (found->second.size() > 1) {
            out.wrong.push_back({row.line, "", name, fmt::format("{} nodes are named so.", found->second.size()),
                                 "Give each a name of its own in the model."});
            continue;
        }
        const TableNode& node = *found->second.front();
        if (const auto [first, fresh] = line_of.emplace(&node, row.line); !fresh) {
            out.wrong.push_back({row.line, "", name, fmt::format("Line {} speaks of it already.", first->second),
                                 "Make one row of the two."});
            continue;
        }
        if (row.cells.size() > columns.size() &&
            std::any_of(row.cells.begin() + static_cast<std::ptrdiff_t>(columns.size()), row.cells.end(),
                        [](const std::string& cell) { return !cell.empty(); }))
            out.wrong.push_back({row.line, "", name, "It has more cells than there are columns.",
                                 "Put a value that holds what separates the cells in quotes."});
        for (std::size_t c = 0; c < columns.size() && c < row.cells.size(); ++c) {
            const Key* key = columns[c].key;
            const std::string& cell = row.cells[c];
            if (key == nullptr || cell.empty() || cell == extras.text(node.node, key->name))
                continue;
            Wanted one;
            one.line = row.line;
            one.column = table.heading[c];
            one.name = name;
            one.change = {node.node, std::string(key->name), {}};
            const nlohmann::json& now = extras.value(node.node, key->name);
            if (cell == taken_away) {
                if (now.is_null())
                    continue;
            } else {
                const nlohmann::json then = json_of(cell, *key, columns[c].unit);
                if (then == now)
                    continue;
                one.change.json = then.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
            }
            wanted.push_back(std::move(one));
        }
    }
    const TableNode* group = nullptr; // the last one met: its members stand behind it
    for (std::size_t i = 0; i < nodes.size(); ++i) {
        if (nodes[i].group)
            group = &nodes[i];
        if (nodes[i].group || line_of.count(&nodes[i]) != 0)
            continue;
        const auto item = item_of.find(nodes[i].name);
        const bool grouped = group != nullptr && item != item_of.end() && map[item->second].group >= 0 &&
                             map.groups[static_cast<std::size_t>(map[item->second].group)].node == group->node;
        if (!grouped || line_of.count(group) == 0)
            out.nodes_without_row.push_back(nodes[i].name);
    }
}

/// Reads the map with the changes in it, and gives each new finding to the cell that it is about.
void Comparison::judged() {
    std::set<Judged> before;
    for (const Finding& finding : map.findings)
        before.insert(same(finding));
    const auto changes = [&] {
        std::vector<Change> list;
        for (const Wanted& one : wanted)
            list.push_back(one.change);
        return list;
    };
    const auto written = write_changes(file, changes());
    if (!written) {
        out.wrong.push_back({0, "", "", "The changes cannot be written: " + written.error().text,
                             "Take out rows until it can, and report the one."});
        wanted.clear();
        return;
    }
    const auto after = read_map_bytes(span_of(*written), map.path, folder_of(map.path));
    if (!after) {
        out.wrong.push_back({0, "", "", "The map cannot be read with the changes in it: " + after.error().text,
                             "Take out rows until it can, and report the one."});
        wanted.clear();
        return;
    }
    std::map<std::pair<std::string, std::string>, const Wanted*> cell_of;
    for (const Wanted& one : wanted)
        cell_of.emplace(std::pair(one.name, one.change.key), &one);
    std::set<const Wanted*> spoilt;
    for (const Finding& finding : after->findings) {
        if (before.count(same(finding)) != 0)
            continue;
        // The cell that states this key for that node, or for its group.
        const Wanted* about = nullptr;
        for (const std::string& name : finding.nodes) {
            const auto item = item_of.find(name);
            const std::int32_t group = item == item_of.end() ? -1 : map[item->second].group;
            for (const std::string& who :
                 {name, group >= 0 ? map.groups[static_cast<std::size_t>(group)].name : std::string()})
                if (const auto cell = cell_of.find({who, finding.key}); about == nullptr && cell != cell_of.end())
                    about = cell->second;
        }
        TableNote note;
        note.name = finding.nodes.empty() ? "" : finding.nodes.front();
        note.column = finding.key;
        if (about != nullptr) {
            note.line = about->line;
            note.column = about->column;
            note.name = about->name;
        }
        note.what = finding.value.empty() ? finding.what : fmt::format("“{}”: {}", finding.value, finding.what);
        note.remedy = finding.remedy;
        if (finding.weight == Weight::fault) {
            out.wrong.push_back(std::move(note));
            if (about != nullptr)
                spoilt.insert(about);
        } else {
            out.doubts.push_back(std::move(note));
        }
    }
    std::vector<Wanted> good;
    for (const Wanted& one : wanted)
        if (spoilt.count(&one) == 0)
            good.push_back(one);
    wanted = std::move(good);
}

} // namespace

TableChanges changes_of(const Map& map, std::span<const std::byte> file, const Table& table) {
    Comparison comparison{map, file, table};
    for (std::size_t i = 0; i < map.items.size(); ++i)
        comparison.item_of.emplace(map.items[i].name, ItemId{static_cast<std::int32_t>(i)});
    comparison.columns_read();
    const std::vector<TableNode> nodes = table_nodes(map);
    comparison.rows_read(Extras(file), nodes);
    if (!comparison.wanted.empty())
        comparison.judged();
    for (Wanted& one : comparison.wanted)
        comparison.out.changes.push_back(std::move(one.change));
    return std::move(comparison.out);
}

} // namespace boltwalk

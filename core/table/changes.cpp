#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include <fmt/format.h>

#include "core/map/files.hpp"
#include "core/map/values.hpp"
#include "core/table/columns.hpp"
#include "core/table/extras.hpp"
#include "core/table/table.hpp"

namespace boltwalk {

using namespace table_inside;

namespace {

constexpr std::string_view taken_away = "(none)";
constexpr std::string_view quote_it = "Put a value that holds what separates the cells in quotes.";

/// One cell on its way into the map.
struct Wanted {
    Change change;
    int line = 0;
    std::string column, name, from, to;
};

/// Of one row, so many cells that do not fit their columns are one mistake: the row is out of step with the heading.
constexpr std::size_t cells_out_of_step = 4;

using Judged = std::tuple<std::string, std::string, std::string, std::string, std::string>;
Judged same(const Finding& finding) {
    return {finding.rule, finding.nodes.empty() ? std::string() : finding.nodes.front(), finding.key, finding.value,
            finding.what};
}

struct Comparison {
    const Map& map;
    std::span<const std::byte> file;
    const Table& table;
    TableChanges out{};
    std::vector<Column> columns{};
    std::vector<Wanted> wanted{};
    std::map<std::string, ItemId> item_of{}; ///< the first of each name
    std::set<int> long_rows{};               ///< lines with more cells than there are columns, though empty ones

    void columns_read();
    void units_compared(const Extras&, const std::map<std::string, std::vector<const TableNode*>>&);
    void rows_read(const Extras&, const std::vector<TableNode>&);
    void judged();
    bool drop_rows_out_of_step(const std::set<const Wanted*>& spoilt);
};

void Comparison::columns_read() {
    std::set<std::string> seen;
    for (const std::string& heading : table.heading) {
        Column column = column_of(heading);
        if (!heading.empty() && !column.name && column.key == nullptr && column.word != "what")
            out.wrong.push_back({0, heading, "", "No key of a fastener is called so.", remedy_for_unknown(column)});
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

/// A length that stands as it was below a heading with another unit would be another length, and whoever changed the
/// heading did not mean it: of such a column nothing is taken.
void Comparison::units_compared(const Extras& extras,
                                const std::map<std::string, std::vector<const TableNode*>>& by_name) {
    for (std::size_t c = 0; c < columns.size(); ++c) {
        Column& column = columns[c];
        if (column.key == nullptr || column.key->id != KeyId::length_mm || column.unit.empty())
            continue;
        TableNote note;
        std::size_t more = 0;
        for (const TableRow& row : table.rows) {
            if (c >= row.cells.size() || row.cells[c].empty())
                continue;
            const std::string& cell = row.cells[c];
            const auto named = std::find_if(columns.begin(), columns.end(), [](const Column& of) { return of.name; });
            const auto at = static_cast<std::size_t>(named - columns.begin());
            const auto found = at < row.cells.size() ? by_name.find(row.cells[at]) : by_name.end();
            if (found == by_name.end() || cell != extras.text(found->second.front()->node, column.key->name))
                continue;
            const nlohmann::json as_it_was = json_of(cell, *column.key, "");
            const nlohmann::json as_headed = json_of(cell, *column.key, column.unit);
            if (as_it_was == as_headed || !as_headed.is_number())
                continue;
            if (note.line > 0) {
                ++more;
                continue;
            }
            note = {row.line, table.heading[c], row.cells[at],
                    fmt::format("“{}” stands here as it was, in millimetres, but under this heading it would be {} mm",
                                cell, as_headed.dump()),
                    fmt::format("Call the column length_mm again and write millimetres, or write the unit behind each "
                                "figure: {0} mm, or {0} {1}.",
                                cell, column.unit)};
        }
        if (note.line == 0)
            continue;
        note.what += fmt::format("{}: of this column nothing is taken.",
                                 more > 0 ? fmt::format(" (and so {} more cell{})", more, more == 1 ? "" : "s") : "");
        out.wrong.push_back(std::move(note));
        column.key = nullptr;
    }
}

/// As a person may have written a node's name, or its title.
std::string as_name(std::string_view text) {
    std::string out = lower_case(text);
    for (char& c : out)
        c = c == ' ' || c == '-' ? '_' : c;
    return out;
}

/// "Is “guard_screw” meant? ", or nothing.
std::string near_node(const std::vector<TableNode>& nodes, const std::string& name) {
    const std::string wanted = as_name(name);
    const std::size_t limit = near_limit(wanted.size());
    const TableNode* best = nullptr;
    std::size_t least = limit + 1;
    for (const TableNode& node : nodes)
        for (const std::string& its : {as_name(node.name), as_name(node.title)})
            if (const std::size_t far = edit_distance(wanted, its, limit); far < least) {
                least = far;
                best = &node;
            }
    return best == nullptr ? "" : fmt::format("Is “{}” meant? ", best->name);
}

void Comparison::rows_read(const Extras& extras, const std::vector<TableNode>& nodes) {
    std::map<std::string, std::vector<const TableNode*>> by_name;
    for (const TableNode& node : nodes)
        by_name[node.name].push_back(&node);
    units_compared(extras, by_name);
    std::map<const TableNode*, int> line_of;
    for (const TableRow& row : table.rows) {
        std::string name;
        for (std::size_t c = 0; c < columns.size() && c < row.cells.size(); ++c)
            if (columns[c].name)
                name = row.cells[c];
        const auto found = by_name.find(name);
        if (name.empty() || found == by_name.end()) {
            const ItemId item = name.empty() ? ItemId{} : find_item(map, name);
            out.wrong.push_back({row.line, "", name,
                                 name.empty() ? std::string("The row has no name.")
                                 : item       ? fmt::format("It is a {}, and a table speaks of fasteners.",
                                                      map.is_part(item) ? "part" : "task")
                                              : std::string("No fastener and no group of fasteners is named so."),
                                 name.empty() ? "Write the node's or the group's name."
                                              : near_node(nodes, name) + "Correct the name, or take the row out."});
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
                        [](const std::string& cell) { return !cell.empty(); })) {
            out.wrong.push_back({row.line, "", name,
                                 "It has more cells than there are columns: nothing of it is taken.",
                                 std::string(quote_it)});
            continue;
        }
        if (row.cells.size() > columns.size())
            long_rows.insert(row.line);
        for (std::size_t c = 0; c < columns.size() && c < row.cells.size(); ++c) {
            const Key* key = columns[c].key;
            const std::string& cell = row.cells[c];
            if (key == nullptr || cell.empty() || cell == extras.text(node.node, key->name))
                continue;
            Wanted one;
            one.line = row.line;
            one.column = table.heading[c];
            one.name = name;
            one.from = extras.text(node.node, key->name);
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
                one.to = then.is_string() ? then.get<std::string>() : one.change.json;
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

/// Takes out the rows whose cells do not fit their columns at all, each told once. Whether there were any.
bool Comparison::drop_rows_out_of_step(const std::set<const Wanted*>& spoilt) {
    std::map<int, std::vector<const Wanted*>> of_line;
    for (const Wanted& one : wanted)
        if (spoilt.count(&one) != 0)
            of_line[one.line].push_back(&one);
    std::set<int> dropped;
    for (const auto& [line, cells] : of_line) {
        if (long_rows.count(line) == 0 && cells.size() < cells_out_of_step)
            continue;
        dropped.insert(line);
        std::string list;
        for (const Wanted* one : cells)
            list += fmt::format("{}“{}” in {}", list.empty() ? "" : ", ", one->to, one->column);
        out.wrong.push_back({line, "", cells.front()->name,
                             fmt::format("Its cells do not fit their columns ({}): nothing of it is taken.", list),
                             std::string(quote_it)});
    }
    std::erase_if(wanted, [&](const Wanted& one) { return dropped.count(one.line) != 0; });
    return !dropped.empty();
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
    std::vector<TableNote> wrong, doubts;
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
            wrong.push_back(std::move(note));
            if (about != nullptr)
                spoilt.insert(about);
        } else {
            doubts.push_back(std::move(note));
        }
    }
    if (drop_rows_out_of_step(spoilt))
        return judged(); // without them: what followed from them is no mistake of the others
    out.wrong.insert(out.wrong.end(), wrong.begin(), wrong.end());
    out.doubts.insert(out.doubts.end(), doubts.begin(), doubts.end());
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
    for (Wanted& one : comparison.wanted) {
        comparison.out.told.push_back({std::move(one.name), one.change.key, std::move(one.from), std::move(one.to)});
        comparison.out.changes.push_back(std::move(one.change));
    }
    return std::move(comparison.out);
}

} // namespace boltwalk

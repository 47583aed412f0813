// The manual's table: every fact of every fastener as a spreadsheet has it, out of a map and back into it.
//
//   table_of()     CSV: a row for each group of fasteners and each fastener, a column for each key; a cell holds what
//                  that node itself states, so that what is inherited stays inherited and a round trip changes nothing
//   read_table()   CSV as spreadsheets save it: comma, semicolon or tab; UTF-8 with or without its mark, or Latin-1
//   changes_of()   what a table would change in a map, and everything that is wrong with it
//
// A library of its own (boltwalk_table), for it brings libcsv. Errors are sentences.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <tl/expected.hpp>

#include "core/map/map.hpp"

namespace boltwalk {

/// UTF-8, RFC 4180. `file` are the bytes that the map was read from.
std::string table_of(const Map&, std::span<const std::byte> file);

struct TableRow {
    int line = 0; ///< of the file, from 1
    std::vector<std::string> cells;
};
struct Table {
    std::vector<std::string> heading;
    std::vector<TableRow> rows; ///< those that hold anything
};
/// The heading is the first row that holds anything. An error: no such text, no heading.
tl::expected<Table, std::string> read_table(std::string_view bytes);

/// Something about one cell, one row or one column.
struct TableNote {
    int line = 0;       ///< 0: not about a row
    std::string column; ///< empty: about the whole row
    std::string name;   ///< of the node; empty: about the column
    std::string what, remedy;
};

/// A change in words: what the node stated under that key, and what it states now. Empty: nothing.
struct TableChanged {
    std::string name, key, from, to;
};

struct TableChanges {
    std::vector<Change> changes;                ///< those that nothing is wrong with
    std::vector<TableChanged> told;             ///< the same, one for one
    std::vector<TableNote> wrong;               ///< a table with any of these is not applied whole
    std::vector<TableNote> doubts;              ///< worth a look
    std::vector<std::string> rows_without_node; ///< names as the table has them; each is in `wrong`, too
    std::vector<std::string> nodes_without_row; ///< fasteners that neither a row nor their group's row speaks of
};

/// Columns: `name`, then keys, in any order; a unit may stand behind a key ("torque (lbf·ft)", "length_mm [in]") or in
/// the cells. A length left as it was under a heading of another unit contradicts it: nothing of that column is taken.
/// A row whose cells do not fit their columns is told once. An empty cell says nothing; `(none)` takes a key away.
/// Judged by reading the map anew with the changes in it, so a table's mistakes are those that `check` knows. `file`
/// are the bytes that the map was read from.
TableChanges changes_of(const Map&, std::span<const std::byte> file, const Table&);

} // namespace boltwalk

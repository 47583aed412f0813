#include "core/log/store.hpp"

#include <algorithm>
#include <array>

#include <fmt/format.h>
#include <sqlite3.h>

namespace boltwalk::log_store {

namespace {

/// "Bolt", so that `file` and others can tell what it is (sqlite.org/pragma.html#pragma_application_id).
constexpr int application_id = 0x426F6C74;
/// Of the tables below.
constexpr int format = 1;

constexpr std::array<const char*, 5> tables{
    "CREATE TABLE snapshot (number INTEGER PRIMARY KEY, at TEXT NOT NULL, rules INTEGER NOT NULL, map TEXT NOT NULL, "
    "job TEXT NOT NULL)",
    "CREATE TABLE item (snapshot INTEGER NOT NULL, place INTEGER NOT NULL, number INTEGER NOT NULL, id TEXT NOT NULL, "
    "name TEXT NOT NULL, kind TEXT NOT NULL, facts TEXT NOT NULL, shape TEXT NOT NULL, PRIMARY KEY (snapshot, place)) "
    "WITHOUT ROWID",
    "CREATE TABLE entry (number INTEGER PRIMARY KEY, item_no INTEGER, piece_no INTEGER, key TEXT NOT NULL UNIQUE, "
    "at TEXT NOT NULL, deed TEXT NOT NULL, verb TEXT NOT NULL, item TEXT NOT NULL, step TEXT NOT NULL, "
    "vehicle TEXT NOT NULL, mishap TEXT NOT NULL, piece TEXT NOT NULL, piece_of TEXT NOT NULL, "
    "moved_to TEXT NOT NULL, kind TEXT NOT NULL, torque TEXT NOT NULL, pass TEXT NOT NULL, passes TEXT NOT NULL, "
    "duty TEXT NOT NULL, about TEXT NOT NULL, words TEXT NOT NULL)",
    "CREATE TRIGGER entry_stays BEFORE DELETE ON entry BEGIN SELECT RAISE(ABORT, 'nothing is deleted from a log'); END",
    "CREATE TRIGGER entry_keeps BEFORE UPDATE ON entry BEGIN SELECT RAISE(ABORT, 'nothing is changed in a log'); END",
};

std::string meaning(int code) {
    switch (code & 0xFF) {
    case SQLITE_FULL:
        return "the disk is full";
    case SQLITE_READONLY:
        return "it may only be read, not written";
    case SQLITE_CANTOPEN:
        return "it cannot be opened or made there: is the folder there, and may it be written to";
    case SQLITE_PERM:
    case SQLITE_AUTH:
        return "permission is denied";
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return "another window or program is writing to it and does not finish";
    case SQLITE_NOTADB:
        return "it is no log of this program; move it elsewhere and a new one is begun";
    case SQLITE_CORRUPT:
        return "it is damaged; move it elsewhere (do not delete it) and a new one is begun";
    case SQLITE_IOERR:
        return "the disk gives an error";
    case SQLITE_NOMEM:
        return "there is not enough memory";
    default:
        return "SQLite says: " + std::string(sqlite3_errstr(code));
    }
}

} // namespace

/// One statement; texts are bound, never pasted.
class Query {
public:
    Query(Store& store, const std::string& sql) : store_(store) {
        const int code = sqlite3_prepare_v2(store.db_, sql.c_str(), static_cast<int>(sql.size()), &statement_, nullptr);
        if (code != SQLITE_OK)
            store.fail(code);
    }
    ~Query() { sqlite3_finalize(statement_); }
    Query(const Query&) = delete;
    Query& operator=(const Query&) = delete;

    Query& bind(std::int64_t value) {
        check(sqlite3_bind_int64(statement_, ++bound_, value));
        return *this;
    }
    /// -1 is none.
    Query& bind_number(std::int32_t value) {
        check(value < 0 ? sqlite3_bind_null(statement_, ++bound_) : sqlite3_bind_int(statement_, ++bound_, value));
        return *this;
    }
    /// The text must live until the row is stepped.
    Query& bind(const std::string& text) {
        check(sqlite3_bind_text(statement_, ++bound_, text.data(), static_cast<int>(text.size()), nullptr));
        return *this;
    }
    bool step() {
        const int code = sqlite3_step(statement_);
        if (code != SQLITE_ROW && code != SQLITE_DONE)
            store_.fail(code);
        return code == SQLITE_ROW;
    }
    std::int64_t number(int column) const { return sqlite3_column_int64(statement_, column); }
    std::int32_t item_number(int column) const {
        const std::int64_t value =
            sqlite3_column_type(statement_, column) == SQLITE_NULL ? -1 : sqlite3_column_int64(statement_, column);
        return value < 0 || value > INT32_MAX ? -1 : static_cast<std::int32_t>(value);
    }
    std::string text(int column) const {
        const auto* bytes = reinterpret_cast<const char*>(sqlite3_column_text(statement_, column));
        const auto size = static_cast<std::size_t>(sqlite3_column_bytes(statement_, column));
        return bytes == nullptr ? std::string() : log_row::well_formed({bytes, size});
    }

private:
    void check(int code) {
        if (code != SQLITE_OK)
            store_.fail(code);
    }
    Store& store_;
    sqlite3_stmt* statement_ = nullptr;
    int bound_ = 0;
};

void Store::fail(int code) const {
    const int extended = db_ == nullptr ? code : sqlite3_extended_errcode(db_);
    throw Failure{extended, meaning(extended)};
}

void Store::run(const char* sql) {
    const int code = sqlite3_exec(db_, sql, nullptr, nullptr, nullptr);
    if (code != SQLITE_OK)
        fail(code);
}

Store::Store(const std::string& path, const std::string& vfs, int busy_ms, bool create) {
    const int flags = SQLITE_OPEN_READWRITE | (create ? SQLITE_OPEN_CREATE : 0);
    const int code = sqlite3_open_v2(path.c_str(), &db_, flags, vfs.empty() ? nullptr : vfs.c_str());
    try {
        if (code != SQLITE_OK)
            fail(code);
        sqlite3_extended_result_codes(db_, 1);
        sqlite3_busy_timeout(db_, busy_ms);
        // A file that somebody sends us is data: its schema runs nothing of ours, and nothing writes to it by tricks.
        sqlite3_db_config(db_, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
        sqlite3_db_config(db_, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
        run("PRAGMA temp_store = MEMORY");
        run("PRAGMA cell_size_check = ON");
        run("PRAGMA synchronous = EXTRA");
        run("PRAGMA fullfsync = ON"); // where plain fsync does not reach the platter (macOS)
        run("PRAGMA journal_mode = DELETE");
    } catch (const Failure&) {
        sqlite3_close(db_);
        throw;
    }
}

Store::~Store() {
    sqlite3_close(db_);
}

bool Store::in_place() const {
    int moved = 0;
    // A way to the disk that cannot tell leaves it at 0.
    sqlite3_file_control(db_, "main", SQLITE_FCNTL_HAS_MOVED, &moved);
    return moved == 0;
}

bool Store::read_only() const {
    return sqlite3_db_readonly(db_, "main") == 1;
}

void Store::begin_read() {
    run("BEGIN");
}

void Store::begin_write() {
    run("BEGIN IMMEDIATE");
    if (has_tables())
        return;
    for (const char* sql : tables)
        run(sql);
    run(fmt::format("PRAGMA application_id = {}", application_id).c_str());
    run(fmt::format("PRAGMA user_version = {}", format).c_str());
}

void Store::commit() {
    run("COMMIT");
}

void Store::roll_back() noexcept {
    // Nothing to be done where it fails: the connection is given up next.
    sqlite3_exec(db_, "ROLLBACK", nullptr, nullptr, nullptr);
}

bool Store::has_tables() {
    Query count(*this, "SELECT count(*) FROM sqlite_schema");
    count.step();
    if (count.number(0) == 0)
        return false;
    Query id(*this, "PRAGMA application_id");
    id.step();
    if (id.number(0) != application_id)
        throw Failure{SQLITE_NOTADB, meaning(SQLITE_NOTADB)};
    Query version(*this, "PRAGMA user_version");
    version.step();
    if (version.number(0) != format)
        throw Failure{SQLITE_NOTADB,
                      fmt::format("it is a log of another version of this program (format {}, this one knows {}); "
                                  "read it with that one",
                                  version.number(0), format)};
    // Exactly our own tables: a view or a trigger under one of these names could do anything.
    Query schema(*this, "SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY rowid");
    std::size_t i = 0;
    while (schema.step()) {
        if (i >= tables.size() || schema.text(0) != tables[i])
            throw Failure{SQLITE_NOTADB, meaning(SQLITE_NOTADB)};
        ++i;
    }
    if (i != tables.size())
        throw Failure{SQLITE_NOTADB, meaning(SQLITE_NOTADB)};
    return true;
}

std::int64_t Store::last_number() {
    Query last(*this, "SELECT coalesce(max(number), 0) FROM entry");
    last.step();
    return last.number(0);
}

std::vector<Kept> Store::entries_after(std::int64_t number) {
    std::string sql = "SELECT number, item_no, piece_no";
    for (const std::string_view column : log_row::columns)
        sql += ", " + std::string(column);
    Query rows(*this, sql + " FROM entry WHERE number > ? ORDER BY number");
    rows.bind(number);
    std::vector<Kept> out;
    while (rows.step()) {
        Kept kept;
        kept.number = rows.number(0);
        kept.item = rows.item_number(1);
        kept.piece = rows.item_number(2);
        for (std::size_t i = 0; i < kept.row.size(); ++i)
            kept.row[i] = rows.text(static_cast<int>(i) + 3);
        out.push_back(std::move(kept));
    }
    return out;
}

std::int64_t Store::snapshot_count() {
    Query count(*this, "SELECT count(*) FROM snapshot");
    count.step();
    return count.number(0);
}

KnownItems Store::held() {
    KnownItems out;
    out.snapshots = snapshot_count();
    Query last(*this, "SELECT number, rules, map, job FROM snapshot ORDER BY number DESC LIMIT 1");
    if (!last.step())
        return out;
    const std::int64_t latest = last.number(0);
    out.items.rules = static_cast<int>(last.number(1));
    out.items.map = last.text(2);
    out.items.job = last.text(3);
    // Later snapshots write over what earlier ones said of the same item.
    Query rows(*this, "SELECT snapshot, number, id, name, kind, facts, shape FROM item ORDER BY snapshot, place");
    while (rows.step()) {
        const std::int32_t number = rows.item_number(1);
        constexpr std::int32_t most = 10'000'000; // a damaged number must not ask for all memory
        if (number < 0 || number > most)
            throw Failure{SQLITE_CORRUPT, meaning(SQLITE_CORRUPT)};
        ItemFacts facts{rows.text(2), rows.text(3), rows.text(4), rows.text(5), rows.text(6)};
        if (out.items.items.size() <= static_cast<std::size_t>(number))
            out.items.items.resize(static_cast<std::size_t>(number) + 1);
        if (rows.number(0) == latest)
            out.latest.push_back(facts);
        out.items.items[static_cast<std::size_t>(number)] = std::move(facts);
    }
    return out;
}

void Store::add_snapshot(const std::string& at, const Snapshot& snapshot, const std::vector<std::int32_t>& numbers) {
    Query head(*this, "INSERT INTO snapshot (at, rules, map, job) VALUES (?, ?, ?, ?)");
    const std::string map = log_row::well_formed(snapshot.map), job = log_row::well_formed(snapshot.job);
    head.bind(at).bind(std::int64_t{snapshot.rules}).bind(map).bind(job);
    head.step();
    const std::int64_t number = sqlite3_last_insert_rowid(db_);
    for (std::size_t i = 0; i < snapshot.items.size(); ++i) {
        const ItemFacts& item = snapshot.items[i];
        Query row(*this, "INSERT INTO item VALUES (?, ?, ?, ?, ?, ?, ?, ?)");
        row.bind(number).bind(static_cast<std::int64_t>(i)).bind(std::int64_t{numbers[i]});
        row.bind(item.id).bind(item.name).bind(item.kind).bind(item.facts).bind(item.shape);
        row.step();
    }
}

void Store::add_entry(const Kept& kept) {
    std::string sql = "INSERT INTO entry (number, item_no, piece_no";
    std::string places = "?, ?, ?";
    for (const std::string_view column : log_row::columns) {
        sql += ", " + std::string(column);
        places += ", ?";
    }
    Query insert(*this, sql + ") VALUES (" + places + ")");
    insert.bind(kept.number).bind_number(kept.item).bind_number(kept.piece);
    for (const std::string& text : kept.row)
        insert.bind(text);
    insert.step();
}

namespace {

/// SQLite hands its VFS full paths only. Empty where there is none.
std::string full_path(sqlite3_vfs* way, const std::string& path) {
    std::vector<char> full(static_cast<std::size_t>(way->mxPathname) + 1);
    // The low byte: a link on the way is an extended kind of OK.
    const int named = way->xFullPathname(way, path.c_str(), static_cast<int>(full.size()), full.data());
    return (named & 0xFF) == SQLITE_OK ? full.data() : "";
}

/// What cannot be told is for the opening to find out.
bool allows(const std::string& path, const std::string& vfs, int what, bool whole_path) {
    sqlite3_vfs* way = sqlite3_vfs_find(vfs.empty() ? nullptr : vfs.c_str());
    if (way == nullptr)
        return true;
    const std::string full = full_path(way, path);
    if (full.empty())
        return true;
    const std::string asked = whole_path ? full : full.substr(0, std::max<std::size_t>(1, full.rfind('/')));
    int answer = 0;
    return way->xAccess(way, asked.c_str(), what, &answer) != SQLITE_OK || answer != 0;
}

} // namespace

bool file_exists(const std::string& path, const std::string& vfs) {
    return allows(path, vfs, SQLITE_ACCESS_EXISTS, true);
}

bool may_make_file(const std::string& path, const std::string& vfs) {
    return allows(path, vfs, SQLITE_ACCESS_READWRITE, false);
}

std::string random_name(const std::string& vfs) {
    sqlite3_vfs* way = sqlite3_vfs_find(vfs.empty() ? nullptr : vfs.c_str());
    std::uint64_t number = 0;
    if (way != nullptr)
        way->xRandomness(way, static_cast<int>(sizeof number), reinterpret_cast<char*>(&number));
    return fmt::format("{:016x}", number);
}

} // namespace boltwalk::log_store

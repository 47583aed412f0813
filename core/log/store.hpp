// SQLite, as far as the log needs it: one connection, its tables, and what its errors mean. Not for others.
//
// Why a rollback journal (journal_mode DELETE) and not a write-ahead log: at rest there is one file, which a person can
// copy with the map; it needs no memory shared between processes, so it works on a folder of another machine, on a
// stick and in a browser; and a job has hundreds of entries, not thousands a second. Why synchronous EXTRA: with FULL
// the folder is not synced after the journal is deleted, so a power cut may bring the journal back and undo what was
// acknowledged (sqlite.org/pragma.html#pragma_synchronous).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/log/row.hpp"

struct sqlite3;
struct sqlite3_stmt;

namespace boltwalk::log_store {

/// What SQLite said, for a person: "the disk is full". `code` is its extended result code.
struct Failure {
    int code = 0;
    std::string what;
};

/// An entry as it lies on disk: `item` and `piece` are numbers of items, or -1.
struct Kept {
    std::int64_t number = 0;
    std::int32_t item = -1, piece = -1;
    log_row::Row row;
};

struct KnownItems {
    Snapshot items;                ///< by number
    std::vector<ItemFacts> latest; ///< of the last snapshot, in its order
    std::int64_t snapshots = 0;
};

/// All calls throw Failure.
class Store {
public:
    Store(const std::string& path, const std::string& vfs, int busy_ms, bool create);
    ~Store();
    Store(const Store&) = delete;
    Store& operator=(const Store&) = delete;

    /// Whether the file under that name is still the one that is open.
    bool in_place() const;
    bool read_only() const;

    void begin_read();
    void begin_write(); ///< makes the tables in an empty file
    void commit();
    void roll_back() noexcept;

    /// Within a transaction. False: nothing was logged yet.
    bool has_tables();
    std::int64_t last_number();
    std::vector<Kept> entries_after(std::int64_t number);
    std::int64_t snapshot_count();
    KnownItems held();
    void add_snapshot(const std::string& at, const Snapshot&, const std::vector<std::int32_t>& numbers);
    void add_entry(const Kept&);

private:
    void run(const char* sql);
    [[noreturn]] void fail(int code) const;
    sqlite3* db_ = nullptr;
    friend class Query;
};

/// Whether there is a file of that name, by that way to the disk.
bool file_exists(const std::string& path, const std::string& vfs);
/// Whether its folder takes new files, as far as can be told beforehand.
bool may_make_file(const std::string& path, const std::string& vfs);
/// 16 hexadecimal digits from the system's own randomness, so that no two writers make the same key.
std::string random_name(const std::string& vfs);

} // namespace boltwalk::log_store

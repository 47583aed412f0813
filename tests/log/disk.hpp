// A disk in memory, below SQLite: it keeps apart what was written and what was synced, so that a power cut can be made
// at any moment, with whatever was not synced dropped, kept or torn.
//
// What it promises is what SQLite's own unix layer promises: a file's bytes are safe after xSync of that file; a name
// is safe after the folder was synced, which happens with the first xSync of a new journal, or with an xDelete that
// asks for it.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "tests/shared/random_assembly.hpp"

namespace boltwalk::testing {

/// What happens to what was not synced.
enum class Fate { dropped, kept, torn };

class Disk {
public:
    /// Registers itself as a VFS of SQLite under that name, while it lives.
    explicit Disk(std::string name, int sector_bytes = 512);
    ~Disk();
    Disk(const Disk&) = delete;
    Disk& operator=(const Disk&) = delete;

    using Image = std::map<std::string, std::string>; ///< files by name
    void load(const Image&);                          ///< all of it synced; the history begins anew
    Image now() const;

    /// Operations that change anything, so far.
    std::size_t history() const { return history_.size(); }
    /// What lies on it when the power goes after that many operations. Torn: each of what was not synced is dropped,
    /// kept, or kept in some of its sectors or bytes only, as the dice say.
    Image after_cut(std::size_t operations, Fate, Lots&) const;

    // Faults. Each holds until it is taken back.
    std::size_t write_limit = SIZE_MAX; ///< this many more writes, then SQLITE_FULL
    int fail_writes = 0;                ///< a result code for every write, sync and truncation, or 0
    int fail_opens = 0;                 ///< for every opening, or 0
    int fail_deletes = 0;               ///< the file goes, and this is answered: the folder could not be synced
    bool read_only = false;             ///< opens for reading only, makes no file

    const std::string& name() const { return name_; }

    struct File;

private:
    enum class Kind { make, write, truncate, sync, sync_folder, remove };
    struct Operation {
        Kind kind;
        std::string name; ///< make, remove
        std::size_t file; ///< index into files_
        std::uint64_t offset = 0;
        std::string bytes;
    };
    std::size_t find(const std::string& name) const; ///< SIZE_MAX: none
    void note(Operation operation) { history_.push_back(std::move(operation)); }

    std::string name_;
    int sector_bytes_;
    std::vector<std::shared_ptr<File>> files_;
    std::map<std::string, std::size_t> names_;
    std::vector<Operation> history_;
    Image begin_; ///< before the history
    struct Registered;
    std::unique_ptr<Registered> registered_;
    friend struct DiskCalls;
};

} // namespace boltwalk::testing

// Where the walk's log is kept: beside the map, by core/log; on a page in the browser's storage (viewer/web); or in
// memory where there is nowhere else.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "core/log/log.hpp"

namespace boltwalk {

/// The face of core/log's Log that the walk asks; what it promises is said there.
class Keeper {
public:
    Keeper() = default;
    virtual ~Keeper() = default;
    Keeper(const Keeper&) = delete;
    Keeper& operator=(const Keeper&) = delete;

    virtual bool add(std::vector<Entry>) = 0; ///< true: stored, so acknowledge them
    virtual bool refresh() = 0;               ///< true: others have added something, or what stands in memory changed
    virtual const std::vector<Entry>& entries() const = 0;
    virtual std::size_t unstored() const = 0;             ///< how many of the entries, its last ones, would be lost now
    virtual bool is_storing() const { return false; }     ///< those are on their way, and nothing was refused
    virtual std::string warning() const = 0;              ///< to be shown as long as it is there
    virtual std::string where() const = 0;                ///< the file, or what stands for it; empty: none
    virtual std::vector<std::string> differs() const = 0; ///< of the map since the log began
    /// Where the file cannot be got at otherwise: hands a copy of it out. False: there is nothing of that here.
    virtual bool can_copy() const { return false; }
    virtual void copy_out() {}
};

/// Lost when the program ends: `warning` stands all the time and says so.
std::unique_ptr<Keeper> keep_in_memory(std::string warning);
/// The same file as `boltwalk log MAP`. Only where there is SQLite.
std::unique_ptr<Keeper> keep_beside(const Map&);

} // namespace boltwalk

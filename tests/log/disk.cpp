#include "tests/log/disk.hpp"

#include <algorithm>
#include <cstring>

#include <sqlite3.h>

namespace boltwalk::testing {

struct Disk::File {
    std::string bytes;
    // SQLite's locks (sqlite.org/lockingv3.html), by the handles that hold them.
    int shared = 0;
    const void* reserved = nullptr;
    const void* pending = nullptr;
    const void* exclusive = nullptr;
};

namespace {

/// SQLite allocates it, so it stays plain.
struct Handle {
    sqlite3_file base;
    Disk* disk;
    std::size_t file;
    int lock;
    bool new_journal; ///< its folder is not synced yet
    bool writable;
};

Handle& handle(sqlite3_file* file) {
    return *reinterpret_cast<Handle*>(file);
}

void put(std::string& bytes, std::uint64_t offset, const std::string& data) {
    if (bytes.size() < offset + data.size())
        bytes.resize(offset + data.size(), '\0');
    bytes.replace(offset, data.size(), data);
}

} // namespace

struct DiskCalls {
    static Disk& disk(sqlite3_vfs* vfs) { return *static_cast<Disk*>(vfs->pAppData); }
    static Disk::File& file(Handle& h) { return *h.disk->files_[h.file]; }

    static int close(sqlite3_file* f) {
        unlock(f, SQLITE_LOCK_NONE);
        return SQLITE_OK;
    }
    static int read(sqlite3_file* f, void* to, int count, sqlite3_int64 offset) {
        const std::string& bytes = file(handle(f)).bytes;
        const auto from = std::min(static_cast<std::size_t>(offset), bytes.size());
        const auto there = std::min(static_cast<std::size_t>(count), bytes.size() - from);
        std::memcpy(to, bytes.data() + from, there);
        std::memset(static_cast<char*>(to) + there, 0, static_cast<std::size_t>(count) - there);
        return there == static_cast<std::size_t>(count) ? SQLITE_OK : SQLITE_IOERR_SHORT_READ;
    }
    static int write(sqlite3_file* f, const void* from, int count, sqlite3_int64 offset) {
        Handle& h = handle(f);
        if (!h.writable)
            return SQLITE_READONLY;
        if (h.disk->fail_writes != 0)
            return h.disk->fail_writes;
        if (h.disk->write_limit == 0)
            return SQLITE_FULL;
        if (h.disk->write_limit != SIZE_MAX)
            --h.disk->write_limit;
        const std::string data(static_cast<const char*>(from), static_cast<std::size_t>(count));
        put(file(h).bytes, static_cast<std::uint64_t>(offset), data);
        h.disk->note({Disk::Kind::write, {}, h.file, static_cast<std::uint64_t>(offset), data});
        return SQLITE_OK;
    }
    static int truncate(sqlite3_file* f, sqlite3_int64 size) {
        Handle& h = handle(f);
        if (h.disk->fail_writes != 0)
            return h.disk->fail_writes;
        file(h).bytes.resize(static_cast<std::size_t>(size));
        h.disk->note({Disk::Kind::truncate, {}, h.file, static_cast<std::uint64_t>(size), {}});
        return SQLITE_OK;
    }
    static int sync(sqlite3_file* f, int) {
        Handle& h = handle(f);
        if (h.disk->fail_writes != 0)
            return h.disk->fail_writes;
        h.disk->note({Disk::Kind::sync, {}, h.file, 0, {}});
        if (h.new_journal)
            h.disk->note({Disk::Kind::sync_folder, {}, h.file, 0, {}});
        h.new_journal = false;
        return SQLITE_OK;
    }
    static int size(sqlite3_file* f, sqlite3_int64* out) {
        *out = static_cast<sqlite3_int64>(file(handle(f)).bytes.size());
        return SQLITE_OK;
    }
    static int lock(sqlite3_file* f, int wanted) {
        Handle& h = handle(f);
        Disk::File& on = file(h);
        if (h.lock >= wanted)
            return SQLITE_OK;
        const auto others = [&](const void* holder) { return holder != nullptr && holder != &h; };
        if (wanted == SQLITE_LOCK_SHARED) {
            if (others(on.pending) || others(on.exclusive))
                return SQLITE_BUSY;
            ++on.shared;
        } else if (wanted == SQLITE_LOCK_RESERVED) {
            if (others(on.reserved) || others(on.pending) || others(on.exclusive))
                return SQLITE_BUSY;
            on.reserved = &h;
        } else {
            if (others(on.reserved) || others(on.pending) || others(on.exclusive))
                return SQLITE_BUSY;
            on.pending = &h;
            if (on.shared > 1) {
                h.lock = SQLITE_LOCK_PENDING;
                return SQLITE_BUSY;
            }
            on.exclusive = &h;
        }
        h.lock = wanted;
        return SQLITE_OK;
    }
    static int unlock(sqlite3_file* f, int to) {
        Handle& h = handle(f);
        Disk::File& on = file(h);
        if (h.lock <= to)
            return SQLITE_OK;
        for (const void** holder : {&on.reserved, &on.pending, &on.exclusive})
            if (*holder == &h)
                *holder = nullptr;
        if (to == SQLITE_LOCK_NONE)
            --on.shared;
        h.lock = to;
        return SQLITE_OK;
    }
    static int reserved(sqlite3_file* f, int* out) {
        Disk::File& on = file(handle(f));
        *out = on.reserved != nullptr || on.pending != nullptr || on.exclusive != nullptr ? 1 : 0;
        return SQLITE_OK;
    }
    static int control(sqlite3_file* f, int what, void* out) {
        if (what != SQLITE_FCNTL_HAS_MOVED)
            return SQLITE_NOTFOUND;
        Handle& h = handle(f);
        bool there = false;
        for (const auto& [name, index] : h.disk->names_)
            there = there || index == h.file;
        *static_cast<int*>(out) = there ? 0 : 1;
        return SQLITE_OK;
    }
    static int sector(sqlite3_file* f) { return handle(f).disk->sector_bytes_; }
    static int promises(sqlite3_file*) { return 0; }

    static int open(sqlite3_vfs* vfs, const char* name, sqlite3_file* f, int flags, int* out_flags) {
        static const sqlite3_io_methods methods = [] {
            sqlite3_io_methods m{};
            m.iVersion = 1;
            m.xClose = close;
            m.xRead = read;
            m.xWrite = write;
            m.xTruncate = truncate;
            m.xSync = sync;
            m.xFileSize = size;
            m.xLock = lock;
            m.xUnlock = unlock;
            m.xCheckReservedLock = reserved;
            m.xFileControl = control;
            m.xSectorSize = sector;
            m.xDeviceCharacteristics = promises;
            return m;
        }();
        Disk& d = disk(vfs);
        f->pMethods = nullptr;
        if (d.fail_opens != 0)
            return d.fail_opens;
        const std::string wanted = name == nullptr ? "(temporary)" : name;
        std::size_t index = d.find(wanted);
        bool made = false;
        if (d.read_only && (flags & SQLITE_OPEN_READWRITE) != 0 && (index == SIZE_MAX || out_flags == nullptr))
            return SQLITE_CANTOPEN;
        if (index == SIZE_MAX) {
            if ((flags & SQLITE_OPEN_CREATE) == 0)
                return SQLITE_CANTOPEN;
            index = d.files_.size();
            d.files_.push_back(std::make_shared<Disk::File>());
            d.names_[wanted] = index;
            d.note({Disk::Kind::make, wanted, index, 0, {}});
            made = true;
        }
        Handle& h = handle(f);
        h.disk = &d;
        h.file = index;
        h.lock = SQLITE_LOCK_NONE;
        h.new_journal = made && (flags & SQLITE_OPEN_MAIN_JOURNAL) != 0;
        h.writable = !d.read_only;
        h.base.pMethods = &methods;
        if (out_flags != nullptr)
            *out_flags =
                d.read_only ? (flags & ~(SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE)) | SQLITE_OPEN_READONLY : flags;
        return SQLITE_OK;
    }
    static int remove(sqlite3_vfs* vfs, const char* name, int sync_folder) {
        Disk& d = disk(vfs);
        const std::size_t index = d.find(name);
        if (index == SIZE_MAX)
            return SQLITE_IOERR_DELETE_NOENT;
        d.names_.erase(name);
        d.note({Disk::Kind::remove, name, index, 0, {}});
        if (d.fail_deletes != 0)
            return d.fail_deletes;
        if (sync_folder != 0)
            d.note({Disk::Kind::sync_folder, {}, index, 0, {}});
        return SQLITE_OK;
    }
    static int access(sqlite3_vfs* vfs, const char* name, int what, int* out) {
        Disk& d = disk(vfs);
        const std::size_t index = d.find(name);
        if (what == SQLITE_ACCESS_EXISTS)
            *out = index != SIZE_MAX && !d.files_[index]->bytes.empty() ? 1 : 0; // as the unix layer: no empty ones
        else
            *out = d.read_only ? 0 : 1;
        return SQLITE_OK;
    }
    static int full_name(sqlite3_vfs*, const char* name, int size, char* out) {
        sqlite3_snprintf(size, out, "%s", name);
        return SQLITE_OK;
    }
    static int randomness(sqlite3_vfs*, int count, char* out) {
        static Lots dice(1);
        for (int i = 0; i < count; ++i)
            out[i] = static_cast<char>(dice.below(256));
        return count;
    }
    static int sleep(sqlite3_vfs*, int microseconds) { return microseconds; }
    static int time(sqlite3_vfs*, double* days) {
        *days = 2461000.5;
        return SQLITE_OK;
    }
};

struct Disk::Registered {
    sqlite3_vfs vfs{};
};

Disk::Disk(std::string name, int sector_bytes)
    : name_(std::move(name)), sector_bytes_(sector_bytes), registered_(std::make_unique<Registered>()) {
    sqlite3_vfs& v = registered_->vfs;
    v.iVersion = 1;
    v.szOsFile = static_cast<int>(sizeof(Handle));
    v.mxPathname = 512;
    v.zName = name_.c_str();
    v.pAppData = this;
    v.xOpen = DiskCalls::open;
    v.xDelete = DiskCalls::remove;
    v.xAccess = DiskCalls::access;
    v.xFullPathname = DiskCalls::full_name;
    v.xRandomness = DiskCalls::randomness;
    v.xSleep = DiskCalls::sleep;
    v.xCurrentTime = DiskCalls::time;
    sqlite3_vfs_register(&v, 0);
}

Disk::~Disk() {
    sqlite3_vfs_unregister(&registered_->vfs);
}

std::size_t Disk::find(const std::string& name) const {
    const auto found = names_.find(name);
    return found == names_.end() ? SIZE_MAX : found->second;
}

void Disk::load(const Image& image) {
    files_.clear();
    names_.clear();
    history_.clear();
    begin_ = image;
    for (const auto& [name, bytes] : image) {
        names_[name] = files_.size();
        files_.push_back(std::make_shared<File>());
        files_.back()->bytes = bytes;
    }
}

Disk::Image Disk::now() const {
    Image image;
    for (const auto& [name, index] : names_)
        image[name] = files_[index]->bytes;
    return image;
}

Disk::Image Disk::after_cut(std::size_t operations, Fate fate, Lots& dice) const {
    struct Body {
        std::string safe;
        std::vector<const Operation*> loose;
    };
    std::vector<Body> bodies(files_.size());
    std::map<std::string, std::size_t> names;
    std::vector<const Operation*> loose_names;
    for (const auto& [name, bytes] : begin_) {
        const std::size_t index = names.size();
        names[name] = index;
        bodies[index].safe = bytes;
    }
    const auto take = [](std::string& bytes, const Operation& o) {
        if (o.kind == Kind::truncate)
            bytes.resize(o.offset, '\0');
        else
            put(bytes, o.offset, o.bytes);
    };
    const auto take_name = [&](const Operation& o) {
        if (o.kind == Kind::make)
            names[o.name] = o.file;
        else
            names.erase(o.name);
    };
    for (std::size_t i = 0; i < operations; ++i) {
        const Operation& o = history_[i];
        switch (o.kind) {
        case Kind::make:
        case Kind::remove:
            loose_names.push_back(&o);
            break;
        case Kind::write:
        case Kind::truncate:
            bodies[o.file].loose.push_back(&o);
            break;
        case Kind::sync:
            for (const Operation* one : bodies[o.file].loose)
                take(bodies[o.file].safe, *one);
            bodies[o.file].loose.clear();
            break;
        case Kind::sync_folder:
            for (const Operation* one : loose_names)
                take_name(*one);
            loose_names.clear();
            break;
        }
    }
    // Names: a file system keeps their order, so some first ones arrived.
    std::size_t arrived = fate == Fate::kept ? loose_names.size() : 0;
    if (fate == Fate::torn)
        arrived = static_cast<std::size_t>(dice.below(static_cast<int>(loose_names.size()) + 1));
    for (std::size_t i = 0; i < arrived; ++i)
        take_name(*loose_names[i]);
    Image image;
    for (const auto& [name, index] : names) {
        Body& body = bodies[index];
        std::string bytes = body.safe;
        for (const Operation* one : body.loose) {
            const int lot = fate == Fate::torn ? dice.below(4) : fate == Fate::kept ? 1 : 0;
            if (lot == 0)
                continue;
            if (lot == 1 || one->kind == Kind::truncate) {
                take(bytes, *one);
                continue;
            }
            Operation part = *one;
            if (lot == 2) { // some first bytes
                part.bytes.resize(static_cast<std::size_t>(dice.below(static_cast<int>(part.bytes.size()) + 1)));
                take(bytes, part);
                continue;
            }
            const auto sector = static_cast<std::size_t>(sector_bytes_);
            for (std::size_t at = 0; at < one->bytes.size(); at += sector)
                if (dice.chance(50)) {
                    part.offset = one->offset + at;
                    part.bytes = one->bytes.substr(at, sector);
                    take(bytes, part);
                }
        }
        image[name] = std::move(bytes);
    }
    return image;
}

} // namespace boltwalk::testing

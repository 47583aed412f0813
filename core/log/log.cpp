// The log on disk: entries in memory, written out in one transaction a call, and again as soon as that works.
#include "core/log/log.hpp"

#include <algorithm>
#include <chrono>
#include <unordered_set>

#include <fmt/format.h>

#include "core/log/row.hpp"
#include "core/log/store.hpp"

namespace boltwalk {

using namespace log_store;

namespace {

/// Year 9999: what a clock that runs wild says must still be a time on disk.
constexpr std::int64_t last_time = 253402300799999;

std::int64_t system_now() {
    using namespace std::chrono;
    return duration_cast<milliseconds>(system_clock::now().time_since_epoch()).count();
}

std::string first_few(const std::vector<std::string>& sentences) {
    std::string out;
    for (std::size_t i = 0; i < sentences.size() && i < 5; ++i)
        out += (i == 0 ? "" : " ") + sentences[i];
    if (sentences.size() > 5)
        out += fmt::format(" And {} more.", sentences.size() - 5);
    return out;
}

} // namespace

std::string log_path_of(const std::string& map_path) {
    return map_path + ".log.sqlite";
}

struct Log::Inside {
    std::string path;
    LogSettings settings;
    Snapshot now; ///< of the present map
    std::string writer;
    std::int64_t made = 0; ///< keys of this writer

    std::unique_ptr<Store> store;
    KnownItems held;
    Match matched;
    std::vector<std::int32_t> number_of; ///< by item of the present map: its number in the log, or -1
    std::vector<Entry> entries;
    std::unordered_set<std::string> keys;
    std::size_t written = 0; ///< of `entries`, on disk; the others follow
    std::int64_t last = 0;   ///< number of the last one on disk
    std::string map_note;    ///< key of the last note that the map was changed
    std::string warning;

    std::int64_t time() const { return settings.now_ms ? settings.now_ms() : system_now(); }

    void rematch() {
        // With no snapshot yet there is nothing that the map could differ from.
        matched = held.snapshots == 0 ? Match{} : match(held.items, now);
        number_of.assign(now.items.size(), -1);
        for (std::size_t i = 0; i < matched.items.size(); ++i)
            if (matched.items[i])
                number_of[static_cast<std::size_t>(matched.items[i].index)] = static_cast<std::int32_t>(i);
        for (Entry& e : entries) {
            if (e.item_no >= 0)
                e.item = item_of(e.item_no);
            if (e.piece_no >= 0)
                e.piece_of = item_of(e.piece_no);
        }
    }

    ItemId item_of(std::int32_t number) const {
        const auto i = static_cast<std::size_t>(number);
        return number >= 0 && i < matched.items.size() ? matched.items[i] : ItemId{};
    }

    std::int32_t number_for(ItemId item) const {
        const auto i = static_cast<std::size_t>(item.index);
        return item && i < number_of.size() ? number_of[i] : -1;
    }

    /// What is on disk and not yet here, ahead of what is only here. Within a transaction.
    bool take_in() {
        if (!store->has_tables())
            return false;
        if (store->snapshot_count() != held.snapshots) {
            held = store->held();
            rematch();
        }
        std::vector<Entry> others;
        std::unordered_set<std::string> ours; // written once already, though that was not known
        for (const Kept& kept : store->entries_after(last)) {
            Entry e = log_row::from_row(kept.row);
            e.number = kept.number;
            e.item_no = kept.item;
            e.piece_no = kept.piece;
            e.item = item_of(kept.item);
            e.piece_of = item_of(kept.piece);
            last = kept.number;
            if (!keys.insert(e.key).second)
                ours.insert(e.key);
            others.push_back(std::move(e));
        }
        if (others.empty())
            return false;
        const auto from = entries.begin() + static_cast<std::ptrdiff_t>(written);
        entries.erase(std::remove_if(from, entries.end(), [&](const Entry& e) { return ours.contains(e.key); }),
                      entries.end());
        const std::size_t count = others.size();
        entries.insert(entries.begin() + static_cast<std::ptrdiff_t>(written), std::make_move_iterator(others.begin()),
                       std::make_move_iterator(others.end()));
        written += count;
        return true;
    }

    void connect(bool create) { store = std::make_unique<Store>(path, settings.vfs, settings.busy_ms, create); }

    /// Another file, or none, may lie there by now: what is here and not in that one is to be written into it.
    void start_over() {
        store.reset();
        held = {};
        matched = {};
        last = 0;
        written = 0;
        number_of.assign(now.items.size(), -1);
    }

    void read() {
        if (store && !store->in_place())
            start_over();
        if (!store) {
            if (!file_exists(path, settings.vfs))
                return; // nothing was logged yet
            connect(false);
        }
        store->begin_read();
        take_in();
        store->commit();
    }

    /// Said before the first bolt, not after it.
    std::string cannot_be_written() const {
        if (store ? store->read_only() : !may_make_file(path, settings.vfs))
            return fmt::format(
                "{}: it may only be read, not written. What is done now will be in memory only, and lost "
                "when the program ends.",
                path);
        return {};
    }

    std::size_t unwritten() const {
        return static_cast<std::size_t>(
            std::count_if(entries.begin(), entries.end(), [](const Entry& e) { return e.number == 0; }));
    }

    /// The map as it is, when it is another than the last that the log took in.
    void adopt_map() {
        if (held.snapshots > 0 && held.latest == now.items)
            return;
        std::int32_t next = static_cast<std::int32_t>(held.items.items.size());
        std::vector<std::int32_t> numbers = number_of;
        for (std::int32_t& number : numbers)
            if (number < 0)
                number = next++;
        const std::string at = print_time(time());
        store->add_snapshot(at, now, numbers);
        if (held.snapshots > 0) {
            Entry note;
            note.deed = Deed::noted;
            note.words = "The map is not as it was when the log last took it in. " + first_few(matched.differs);
            stamp(note);
            map_note = note.key;
            entries.insert(entries.begin() + static_cast<std::ptrdiff_t>(written), std::move(note));
        }
        held = store->held();
        rematch();
    }

    void stamp(Entry& e) {
        if (e.key.empty())
            e.key = fmt::format("{}-{}", writer, ++made);
        if (e.at_ms == 0)
            e.at_ms = time();
        e.at_ms = std::clamp<std::int64_t>(e.at_ms, 0, last_time);
        e.number = 0;
        keys.insert(e.key);
    }

    void write() {
        if (store && !store->in_place())
            start_over();
        if (!store)
            connect(true);
        store->begin_write();
        take_in();
        if (written == entries.size()) {
            store->commit();
            return;
        }
        adopt_map();
        std::int64_t number = last;
        std::vector<std::pair<std::int32_t, std::int32_t>> items;
        for (std::size_t i = written; i < entries.size(); ++i) {
            const Entry& e = entries[i];
            items.emplace_back(e.item ? number_for(e.item) : e.item_no,
                               e.piece_of ? number_for(e.piece_of) : e.piece_no);
            store->add_entry({++number, items.back().first, items.back().second, log_row::to_row(e)});
        }
        store->commit();
        for (std::size_t i = written; i < entries.size(); ++i) {
            Entry& e = entries[i];
            e.number = ++last;
            e.item_no = items[i - written].first;
            e.piece_no = items[i - written].second;
        }
        written = entries.size();
    }

    /// Gives the connection up, so that the next attempt opens the file afresh: a descriptor that was opened for
    /// reading stays so, whatever becomes of the disk.
    void give_up(const Failure& failure) {
        if (store)
            store->roll_back();
        start_over();
        // It was made for a transaction that is undone; the next one makes its own.
        std::erase_if(entries, [&](const Entry& e) { return e.number == 0 && e.key == map_note; });
        const std::size_t here = unwritten();
        warning = fmt::format("{}: {}. ", path, failure.what);
        warning += here == 0 ? "What was logged cannot be read, and what is done now will be in memory only."
                             : fmt::format("What was done is in memory only ({} {}) and is lost when the program ends; "
                                           "it is written as soon as that works.",
                                           here, here == 1 ? "entry" : "entries");
    }

    template <typename Attempt>
    bool attempt(Attempt&& what) {
        try {
            what();
            warning = cannot_be_written();
            return true;
        } catch (const Failure& failure) {
            give_up(failure);
            return false;
        }
    }
};

Log::Log(const Map& map, std::string path, LogSettings settings) : inside_(std::make_unique<Inside>()) {
    Inside& in = *inside_;
    in.path = std::move(path);
    in.settings = std::move(settings);
    in.now = snapshot_of(map);
    in.writer = random_name(in.settings.vfs);
    in.number_of.assign(in.now.items.size(), -1);
    in.attempt([&] { in.read(); });
}

Log::~Log() = default;
Log::Log(Log&&) noexcept = default;
Log& Log::operator=(Log&&) noexcept = default;

std::int64_t moment_after(const std::vector<Entry>& entries, std::int64_t now_ms) {
    constexpr std::int64_t A_MOMENT_MS = 1000; // a clock that was set back by more than that says what it says
    if (entries.empty() || entries.back().at_ms < now_ms || entries.back().at_ms - now_ms >= A_MOMENT_MS)
        return now_ms;
    return entries.back().at_ms + 1;
}

bool Log::add(std::vector<Entry> facts) {
    Inside& in = *inside_;
    const std::int64_t at_ms = moment_after(in.entries, in.time());
    for (Entry& e : facts) {
        if (!e.key.empty() && in.keys.contains(e.key))
            continue; // it is here already, by an import
        if (e.at_ms == 0)
            e.at_ms = at_ms;
        in.stamp(e);
        // In memory as it will be read back.
        Entry kept = log_row::from_row(log_row::to_row(e));
        kept.item = e.item;
        kept.piece_of = e.piece_of;
        in.entries.push_back(std::move(kept));
    }
    return in.attempt([&] { in.write(); });
}

bool Log::refresh() {
    Inside& in = *inside_;
    const std::size_t count = in.entries.size(), written = in.written;
    in.attempt([&] {
        if (in.unwritten() == 0)
            in.read();
        if (in.written < in.entries.size())
            in.write();
    });
    return in.entries.size() != count || in.written != written;
}

const std::vector<Entry>& Log::entries() const {
    return inside_->entries;
}
std::size_t Log::unwritten() const {
    return inside_->unwritten();
}
const std::string& Log::warning() const {
    return inside_->warning;
}
const Match& Log::map_match() const {
    return inside_->matched;
}
const Snapshot& Log::snapshot() const {
    return inside_->held.items;
}
const std::string& Log::path() const {
    return inside_->path;
}

} // namespace boltwalk

#include "viewer/web/keeper_browser.hpp"

#include <emscripten.h>
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <sstream>

// clang-format off
EM_JS(int, page_log_chosen, (const char* file), { return Module.page.logChosen(UTF8ToString(file)); });
EM_JS(void, page_log_store, (int asked), { Module.page.logStore(asked); });
EM_JS(void, page_log_copy, (const char* name), { Module.page.logCopy(UTF8ToString(name)); });
// clang-format on

namespace boltwalk {

namespace {

/// Counted over all maps of the page: an answer to an earlier one's is none to this one's.
int last_asked = 0;

class InBrowser : public Keeper {
public:
    InBrowser(const Map& map, const std::string& file)
        : log_(map, file), name_(log_path_of(map.path.substr(map.path.rfind('/') + 1))), stored_(log_.entries().size()),
          answered_(last_asked), asked_(last_asked) {}

    bool add(std::vector<Entry> entries) override {
        log_.add(std::move(entries));
        ask();
        return false;
    }
    bool refresh() override {
        // What stands here and not in what others have stored is written behind theirs. No file: the storage was
        // cleared.
        const std::size_t ours = std::filesystem::exists(log_.path()) ? unstored() : entries().size();
        if (!log_.refresh())
            return false;
        stored_ = entries().size() - std::min(ours, entries().size());
        if (unstored() > 0)
            ask();
        return true;
    }
    const std::vector<Entry>& entries() const override { return log_.entries(); }
    std::size_t unstored() const override { return entries().size() - std::min(stored_, entries().size()); }
    bool is_storing() const override { return refusal_.empty() && log_.warning().empty() && answered_ < asked_; }
    std::string warning() const override {
        if (refusal_.empty() || unstored() == 0)
            return log_.warning();
        return fmt::format(
            "{} What was done is in memory only ({} {}) and is lost when this page is closed; it is stored "
            "as soon as that works.",
            refusal_, unstored(), unstored() == 1 ? "entry" : "entries");
    }
    std::string where() const override { return "In this browser's storage: " + name_; }
    std::vector<std::string> differs() const override { return log_.map_match().differs; }

    bool can_copy() const override { return !entries().empty(); }
    void copy_out() override { page_log_copy(name_.c_str()); }

    /// The map is opened again, and of what its log's file holds the browser did not take all.
    void store_anew() {
        stored_ = 0;
        ask();
    }

    bool take(int asked, const std::string& refusal) {
        if (asked <= first_)
            return false;
        refusal_ = refusal;
        if (!refusal.empty())
            return true;
        answered_ = asked;
        for (const auto& [number, count] : counts_)
            if (number <= asked)
                stored_ = count;
        std::erase_if(counts_, [&](const auto& one) { return one.first <= asked; });
        return true;
    }

private:
    void ask() {
        asked_ = ++last_asked;
        counts_.emplace_back(asked_, entries().size() - log_.unwritten());
        page_log_store(asked_);
    }

    Log log_;
    std::string name_;
    std::size_t stored_; ///< entries that the browser has
    int first_ = last_asked, answered_, asked_;
    std::vector<std::pair<int, std::size_t>> counts_; ///< by what was asked: entries in the file then
    std::string refusal_;
};

/// More than half of what the log knows is in the map.
bool is_of(const Map& map, const std::string& file) {
    const Log log(map, file);
    const std::size_t known = log.snapshot().items.size();
    return !log.entries().empty() && log.map_match().lost.size() * 2 < known;
}

} // namespace

std::unique_ptr<Keeper> keep_in_browser(const Map& map, const std::string& files) {
    if (files.empty())
        return keep_in_memory(
            "This browser keeps nothing for this page: what is done here is lost when it is closed or "
            "loaded again.");
    std::istringstream lines(files);
    std::string own, other, chosen;
    std::getline(lines, own);
    chosen = own;
    while (std::getline(lines, other))
        if (is_of(map, other)) {
            chosen = other;
            break;
        }
    const bool is_behind = page_log_chosen(chosen.c_str()) != 0;
    auto made = std::make_unique<InBrowser>(map, chosen);
    if (is_behind)
        made->store_anew();
    return made;
}

bool take_browser_answer(Keeper& keeper, int asked, const std::string& refusal) {
    auto* const ours = dynamic_cast<InBrowser*>(&keeper);
    return ours != nullptr && ours->take(asked, refusal);
}

} // namespace boltwalk

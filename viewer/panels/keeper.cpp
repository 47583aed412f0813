#include "viewer/panels/keeper.hpp"

#include <chrono>
#include <utility>

namespace boltwalk {

namespace {

class InMemory : public Keeper {
public:
    explicit InMemory(std::string warning) : warning_(std::move(warning)) {}
    bool add(std::vector<Entry> entries) override {
        using namespace std::chrono;
        const std::int64_t at =
            moment_after(entries_, duration_cast<milliseconds>(system_clock::now().time_since_epoch()).count());
        for (Entry& e : entries) {
            e.key = "memory-" + std::to_string(entries_.size() + 1);
            if (e.at_ms == 0)
                e.at_ms = at;
            entries_.push_back(std::move(e));
        }
        return false;
    }
    bool refresh() override { return false; }
    const std::vector<Entry>& entries() const override { return entries_; }
    std::size_t unstored() const override { return entries_.size(); }
    std::string warning() const override { return warning_; }
    std::string where() const override { return {}; }
    std::vector<std::string> differs() const override { return {}; }

private:
    std::vector<Entry> entries_;
    std::string warning_;
};

} // namespace

std::unique_ptr<Keeper> keep_in_memory(std::string warning) {
    return std::make_unique<InMemory>(std::move(warning));
}

} // namespace boltwalk

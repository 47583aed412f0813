// The log beside the map.
#include "viewer/panels/keeper.hpp"

namespace boltwalk {

namespace {

class Beside : public Keeper {
public:
    explicit Beside(const Map& map) : log_(map, log_path_of(map.path)) {}
    bool add(std::vector<Entry> entries) override { return log_.add(std::move(entries)); }
    bool refresh() override { return log_.refresh(); }
    const std::vector<Entry>& entries() const override { return log_.entries(); }
    std::size_t unstored() const override { return log_.unwritten(); }
    std::string warning() const override { return log_.warning(); }
    std::string where() const override { return log_.path(); }
    std::vector<std::string> differs() const override { return log_.map_match().differs; }

private:
    Log log_;
};

} // namespace

std::unique_ptr<Keeper> keep_beside(const Map& map) {
    return std::make_unique<Beside>(map);
}

} // namespace boltwalk

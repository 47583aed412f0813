// From an order to what of it must come before what, and where and with what each thing is done.
#include <algorithm>
#include <unordered_map>

#include "core/job/crawling.hpp"

namespace boltwalk::inside {

bool lacks_chocks(const VehicleAsk& is, const VehicleAsk& ask) {
    const VehicleAsk then = merged(is, ask);
    return asks_anything(ask) && needs_chocks(then) && then.chocked != Ask::yes;
}

namespace {

class Making {
public:
    Making(const Job& job, const Plan& plan) : job_(job), map_(*job.map) {
        errands_.vehicle = as_found(job).vehicle;
        for (const Step& step : plan.steps) {
            if (step.verb == Verb::set_vehicle)
                ++errands_.vehicle_changes;
            for (const ItemId item : step.items)
                add({step.verb, item, {}});
        }
    }

    Errands make() {
        if (errands_.list.size() > longest_course) {
            errands_.searchable = false;
            return std::move(errands_);
        }
        std::vector<Action> deeds;
        for (const Errand& errand : errands_.list)
            deeds.push_back(errand.action);
        Flood flood(job_, deeds);
        Precedence order = precedence_of(job_, flood);
        errands_.company.emplace(flood.company);
        errands_.searchable = order.whole;
        errands_.before = std::move(order.before);
        find_holds();
        find_only_setters();
        close();
        // Let down along with another part and then by itself is not the same as the other way round.
        errands_.monotone = std::count_if(errands_.list.begin(), errands_.list.end(), [](const Errand& errand) {
                                return errand.action.verb == Verb::let_down;
                            }) < 2;
        return std::move(errands_);
    }

private:
    void add(const Action& action) {
        Errand errand;
        errand.action = action;
        if (const Place from = map_[action.item].from; from != Place::not_stated)
            errand.place = static_cast<int>(from);
        if (const std::string tool = tool_of(map_, action); !tool.empty()) {
            const auto known = std::find(errands_.tools.begin(), errands_.tools.end(), tool);
            errand.tool = static_cast<int>(known - errands_.tools.begin());
            if (known == errands_.tools.end())
                errands_.tools.push_back(tool);
        }
        errand.needs = needs_of(job_, action);
        if (action.verb == Verb::do_task)
            errand.sets = map_.task(action.item).sets;
        errand.undoes = action.verb == Verb::take_out || action.verb == Verb::loosen;
        errand.leaves = leaves(action.verb);
        errand.holds_up = action.verb == Verb::prop || action.verb == Verb::let_down ||
                          (action.verb == Verb::do_task && map_.task(action.item).does == TaskDoes::prop);
        const auto deed = static_cast<std::int32_t>(errands_.list.size());
        if (errand.undoes)
            undone_by_.emplace(action.item.index, deed);
        if (errand.leaves)
            left_by_.emplace(action.item.index, deed);
        errands_.list.push_back(errand);
    }

    std::int32_t find(const std::unordered_map<std::int32_t, std::int32_t>& deeds, ItemId item) const {
        const auto it = deeds.find(item.index);
        return it == deeds.end() ? -1 : it->second;
    }

    /// What is held through a part is done while that is there, and joined.
    void find_holds() {
        for (std::size_t deed = 0; deed < errands_.list.size(); ++deed) {
            if (!errands_.list[deed].undoes)
                continue;
            const Fastener& fastener = map_.fastener(errands_.list[deed].action.item);
            const std::int32_t own = job_.kin[slot(map_, fastener.item)];
            for (const ItemId part : fastener.held_through) {
                const std::int32_t gone = find(left_by_, part);
                if (gone >= 0 && errands_.list[at(gone)].action.verb != Verb::let_down)
                    errands_.before[at(gone)].add(deed);
                NotAllBefore rule{deed, {}};
                bool all = !map_.part(part).fixed;
                bool any = false;
                for (const ItemId id : job_.held_by[slot(map_, part)]) {
                    if (job_.kin[slot(map_, id)] == own)
                        continue;
                    const std::int32_t other = find(undone_by_, id);
                    all = all && other >= 0;
                    any = true;
                    if (other >= 0)
                        rule.others.add(at(other));
                }
                if (all && any)
                    errands_.holds.push_back(rule);
            }
        }
    }

    /// Where the vehicle is not changed by itself, what needs it so waits for the one task that makes it so.
    void find_only_setters() {
        if (errands_.vehicle_changes > 0)
            return;
        using AskOf = Ask(VehicleAsk::*);
        constexpr AskOf fields[] = {&VehicleAsk::stands, &VehicleAsk::chocked, &VehicleAsk::brake,
                                    &VehicleAsk::gear,   &VehicleAsk::battery, &VehicleAsk::straight};
        for (std::size_t deed = 0; deed < errands_.list.size(); ++deed)
            for (const auto field : fields) {
                const Ask wanted = errands_.list[deed].needs.*field;
                const Errand& errand = errands_.list[deed];
                if (wanted == Ask::nothing || wanted == errands_.vehicle.*field ||
                    (errand.leaves && errands_.company->may_follow(errand.action.item)))
                    continue; // on the bench it asks nothing of the vehicle
                std::vector<std::size_t> setters;
                for (std::size_t other = 0; other < errands_.list.size(); ++other)
                    if (other != deed && errands_.list[other].sets.*field == wanted)
                        setters.push_back(other);
                if (setters.size() == 1)
                    errands_.before[deed].add(setters[0]);
            }
    }

    /// Before what is before it (Warshall 1962); a deed before itself means that there is no order.
    void close() {
        const std::size_t count = errands_.list.size();
        for (std::size_t middle = 0; middle < count; ++middle)
            for (std::size_t deed = 0; deed < count; ++deed)
                if (errands_.before[deed].has(middle))
                    for (std::size_t w = 0; w < Bits{}.words.size(); ++w)
                        errands_.before[deed].words[w] |= errands_.before[middle].words[w];
        errands_.later.resize(count);
        for (std::size_t deed = 0; deed < count; ++deed)
            for (std::size_t earlier = 0; earlier < count; ++earlier)
                if (errands_.before[deed].has(earlier))
                    errands_.later[earlier].add(deed);
        for (std::size_t deed = 0; deed < count; ++deed)
            errands_.searchable = errands_.searchable && !errands_.before[deed].has(deed);
    }

    const Job& job_;
    const Map& map_;
    Errands errands_;
    std::unordered_map<std::int32_t, std::int32_t> undone_by_, left_by_;
};

} // namespace

Errands errands_of(const Job& job, const Plan& strip) {
    return Making(job, strip).make();
}

} // namespace boltwalk::inside

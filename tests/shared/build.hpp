// One builder of maps for all tests: a few lines a map, no file. Names are node names; order of calls is file order.
#pragma once

#include <algorithm>
#include <initializer_list>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "core/job/job.hpp"

namespace doctest {
template <>
struct StringMaker<std::vector<std::string>> {
    static String convert(const std::vector<std::string>& list) {
        std::string out;
        for (const std::string& one : list)
            out += (out.empty() ? "[" : ", ") + one;
        return (out.empty() ? "[]" : out + "]").c_str();
    }
};
} // namespace doctest

namespace boltwalk::testing {

class Build {
public:
    Map map;

    Part& part(const std::string& name, bool fixed = false) {
        const ItemId id = item(ItemKind::part, name, map.parts.size());
        map.parts.emplace_back();
        map.parts.back().item = id;
        map.parts.back().fixed = fixed;
        return map.parts.back();
    }

    Fastener& fastener(const std::string& name, std::initializer_list<const char*> holds,
                       FastenerKind kind = FastenerKind::bolt) {
        const ItemId id = item(ItemKind::fastener, name, map.fasteners.size());
        Fastener f;
        f.item = id;
        f.kind = kind;
        if (kind == FastenerKind::stud)
            f.frees_when = FreesWhen::nut_off;
        for (const char* part : holds)
            f.holds.push_back(at(part));
        map.fasteners.push_back(f);
        return map.fasteners.back();
    }

    Task& task(const std::string& name, TaskDoes does = TaskDoes::nothing, std::initializer_list<const char*> to = {}) {
        const ItemId id = item(ItemKind::task, name, map.tasks.size());
        Task t;
        t.item = id;
        t.does = does;
        for (const char* one : to)
            t.to.push_back(at(one));
        map.tasks.push_back(t);
        return map.tasks.back();
    }

    /// Puts items into a group; references into Map::items stay valid, the vector does not grow.
    void group(const std::string& name, std::initializer_list<const char*> members) {
        Group g;
        g.name = g.title = name;
        for (const char* member : members) {
            g.members.push_back(at(member));
            (*this)[member].group = static_cast<std::int32_t>(map.groups.size());
        }
        map.groups.push_back(g);
    }

    ItemId at(const std::string& name) const {
        for (std::size_t i = 0; i < map.items.size(); ++i)
            if (map.items[i].name == name)
                return {static_cast<std::int32_t>(i)};
        return {};
    }

    Item& operator[](const std::string& name) { return map.items[static_cast<std::size_t>(at(name).index)]; }
    Fastener& f(const std::string& name) { return map.fasteners[static_cast<std::size_t>((*this)[name].detail)]; }
    Part& p(const std::string& name) { return map.parts[static_cast<std::size_t>((*this)[name].detail)]; }
    Task& t(const std::string& name) { return map.tasks[static_cast<std::size_t>((*this)[name].detail)]; }

    void after(const std::string& name, std::initializer_list<const char*> earlier) {
        for (const char* one : earlier)
            (*this)[name].after.push_back(at(one));
    }
    void step(const std::string& name, int number) { (*this)[name].step = number; }

private:
    ItemId item(ItemKind kind, const std::string& name, std::size_t detail) {
        const ItemId id{static_cast<std::int32_t>(map.items.size())};
        Item i;
        i.kind = kind;
        i.detail = static_cast<std::int32_t>(detail);
        i.node = id.index;
        i.name = i.title = name;
        map.items.push_back(i);
        return id;
    }
};

/// "take-out a, take-out b, take-off lid" without the words: the node names in the order in which they leave or come
/// back, one a mention; what the rules added is in brackets with its verb.
inline std::vector<std::string> names_in(const Map& map, const Plan& plan, std::initializer_list<Verb> verbs) {
    std::vector<std::string> names;
    for (const Step& step : plan.steps)
        if (std::find(verbs.begin(), verbs.end(), step.verb) != verbs.end())
            for (const ItemId id : step.items)
                names.push_back(map[id].name);
    return names;
}

inline std::vector<std::string> leaving(const Map& map, const Plan& plan) {
    return names_in(map, plan,
                    {Verb::take_out, Verb::loosen, Verb::take_off, Verb::set_aside, Verb::let_down, Verb::do_task});
}

inline std::size_t place_of(const std::vector<std::string>& names, const std::string& name) {
    return static_cast<std::size_t>(std::find(names.begin(), names.end(), name) - names.begin());
}

inline std::vector<std::string> rules_of(const std::vector<Finding>& findings, bool notes = false) {
    std::vector<std::string> rules;
    for (const Finding& finding : findings)
        if (notes || finding.weight != Weight::note)
            rules.push_back(finding.rule);
    return rules;
}

/// What is wrong with the way down.
inline std::vector<std::string> strip_rules(const Map& map) {
    const Job job = prepare(map);
    return rules_of(plan_strip(job).findings);
}

inline bool comes_before(const Map& map, const Plan& plan, const char* first, const char* then) {
    const std::vector<std::string> names = leaving(map, plan);
    return place_of(names, first) < place_of(names, then) && place_of(names, then) < names.size();
}

inline Build bolted_lid() {
    Build b;
    b.part("body", true);
    b.part("lid");
    b.fastener("bolt", {"lid", "body"});
    b.map.target = b.at("lid");
    return b;
}

} // namespace boltwalk::testing

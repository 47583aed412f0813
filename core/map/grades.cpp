// Grades as they are written: those that no standard has, and those that a spreadsheet took for a date.
#include <set>

#include <fmt/format.h>

#include "core/map/annotate.hpp"

namespace boltwalk {

namespace {

/// What is made to a class or grade; the grade of a clip or a pin may be any text.
bool has_classes(FastenerKind kind) {
    switch (kind) {
    case FastenerKind::bolt:
    case FastenerKind::screw:
    case FastenerKind::stud:
    case FastenerKind::nut:
    case FastenerKind::castle_nut:
        return true;
    default:
        return false;
    }
}

} // namespace

void check_grades(Annotator& annotator) {
    const Map& map = annotator.map;
    std::set<std::int32_t> told; // what a group states is told at the group, once
    for (const Fastener& fastener : map.fasteners) {
        if (fastener.grade.empty() || is_grade(fastener.grade))
            continue;
        const std::optional<std::string> was = grade_of_date(fastener.grade);
        if (!was && !has_classes(fastener.kind))
            continue;
        const std::int32_t at = annotator.stating(map[fastener.item], KeyId::grade);
        if (!told.insert(at).second)
            continue;
        if (was)
            annotator.add(Weight::doubt, "grade-unknown", at, "grade", fastener.grade, "The grade looks like a date.",
                          "A spreadsheet makes a day of what is typed as 8.8 or 10.9.",
                          fmt::format("{}In the spreadsheet, make the column a column of text before you type.",
                                      was->empty() ? "" : fmt::format("Was it {}? ", *was)));
        else
            annotator.add(Weight::doubt, "grade-unknown", at, "grade", fastener.grade,
                          "No standard known here has a class or grade called so.",
                          "A bolt of another class in its place can tear where this one would not.",
                          "Write what is stamped on it: 8.8 or 10.9 (ISO 898-1), 8 or 10 on a nut (ISO 898-2), A2-70 "
                          "(ISO 3506), grade 5 (SAE J429); what is no class belongs into `note`.");
    }
}

} // namespace boltwalk

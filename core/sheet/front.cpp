// The first page: what the job is, what can hurt, how long the oil works, what has to be there.
#include <algorithm>

#include <fmt/format.h>

#include "core/log/ledger.hpp"
#include "core/sheet/parts.hpp"

namespace boltwalk::inside {

namespace {

/// "  label   words", the words wrapped beside the label.
void fact(Pages& pages, const std::string& label, const std::string& words) {
    if (words.empty())
        return;
    const double beside = mm(34);
    pages.together([&] {
        const double y = pages.y();
        pages.line_of_text(Ink::small, label, pages.left(), y + 1.2);
        pages.text(Ink::body, words, pages.left() + beside, pages.width() - beside);
        pages.skip(2);
    });
}

/// The longest soak, and what it is for.
std::string soak_words(const Printed& printed) {
    const Map& map = *printed.job.map;
    double longest = 0;
    std::size_t at = 0;
    int count = 0;
    for (const Fastener& fastener : map.fasteners)
        if (fastener.soak_min) {
            longest = std::max(longest, *fastener.soak_min);
            ++count;
        }
    if (count == 0)
        return {};
    for (std::size_t i = 0; i < printed.strip.steps.size() && at == 0; ++i)
        if (printed.strip.steps[i].verb == Verb::soak)
            at = i + 1;
    return fmt::format("Penetrating oil on {} fastener{}{}, up to {} min before they are turned.", count,
                       count == 1 ? "" : "s", at > 0 ? fmt::format(" (from step {})", at) : "",
                       print_number(longest, 0));
}

void need_list(Pages& pages, const std::vector<Need>& needs, NeedKind kind, const std::string& heading) {
    std::vector<std::string> lines;
    for (const Need& need : needs) {
        if (need.kind != kind)
            continue;
        const std::string name = name_without_kind(need);
        // What is bought is counted as on a shopping list.
        lines.push_back(printable(kind == NeedKind::part ? fmt::format("{} {}", amount_in_words(need), name)
                                                         : fmt::format("{}  ({})", name, amount_in_words(need))));
    }
    if (lines.empty())
        return;
    constexpr int columns = 2;
    const double width = pages.width() / columns, side = mm(4);
    pages.need(mm(14));
    pages.skip(mm(2));
    pages.text(Ink::headline, heading);
    pages.skip(3);
    for (std::size_t i = 0; i < lines.size(); i += columns)
        pages.together([&] {
            const double y = pages.y();
            double end = y;
            for (std::size_t c = 0; c < columns && i + c < lines.size(); ++c) {
                const double x = pages.left() + width * static_cast<double>(c);
                pages.box(x, y, side);
                pages.move_to(y);
                pages.text(Ink::body, lines[i + c], x + side + mm(2), width - side - mm(5));
                end = std::max({end, pages.y(), y + side});
            }
            pages.move_to(end + 3);
        });
}

} // namespace

void print_front(Pages& pages, const Printed& printed) {
    const Map& map = *printed.job.map;
    pages.text(Ink::title, title_of_job(map));
    pages.skip(mm(2));
    pages.rule(pages.left(), pages.y(), pages.right(), pages.y(), 1.2);
    pages.skip(mm(3));
    fact(pages, "Vehicle", map.vehicle.empty() ? "not stated" : printable(map.vehicle));
    fact(pages, "What comes out", map.target ? printable(map[map.target].title) : "not stated");
    const auto most = [](const Plan& plan) {
        int people = 1;
        for (const Step& step : plan.steps)
            people = std::max(people, step.people);
        return people;
    };
    const int people = std::max(most(printed.strip), most(printed.refit));
    fact(pages, "Extent",
         fmt::format("{} steps out, {} back; {} fasteners are taken out and laid down; {}.", printed.strip.steps.size(),
                     printed.refit.steps.size(), printed.boarded.size(),
                     people > 1 ? fmt::format("some steps take {} people", people) : "one person"));
    fact(pages, "Soak", soak_words(printed));
    fact(pages, "Figures from", map.source.empty() ? "source not stated" : printable(map.source));
    fact(pages, "How to read it",
         "The maker's manual goes before this sheet, as do local codes and licensed practice. Figures are the map's; "
         "where none is given it says “not stated”: look it up. Pictures show a model, not this vehicle.");
    pages.skip(mm(2));
    pages.text(Ink::heading, "Before you begin");
    pages.skip(3);
    std::vector<std::string> cautions;
    for (const std::string& caution : map.cautions)
        cautions.push_back(printable(caution));
    for (const std::string& caution : standing_cautions(map))
        cautions.push_back(caution);
    for (const std::string& caution : cautions)
        pages.together([&] { print_caution(pages, caution, pages.left(), pages.width()); });

    const JobNow nothing = fold(printed.job, {}, gates_of(map, printed.strip, printed.refit));
    const std::vector<Need> needs = needs_of(printed.job, nothing);
    pages.skip(mm(2));
    pages.together([&] {
        pages.text(Ink::heading, "To have before the first bolt");
        pages.text(Ink::small, "Only what the map states; what it does not state is not listed.");
    });
    need_list(pages, needs, NeedKind::tool, "Tools");
    need_list(pages, needs, NeedKind::part, "To buy: what is used once");
    need_list(pages, needs, NeedKind::fluid, "Fluids");
}

} // namespace boltwalk::inside

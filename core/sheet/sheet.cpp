#include "core/sheet/sheet.hpp"

#include <algorithm>
#include <filesystem>

#include "core/job/step_numbers.hpp"
#include "core/photo/photo.hpp"
#include "core/sheet/parts.hpp"

namespace boltwalk {

namespace inside {

namespace {

/// As it lies in the map, where it holds nothing but upright pixels; else taken anew: no place or date goes onto paper.
std::optional<SheetPicture> print_of(const Photo& photo) {
    const std::string_view bytes(reinterpret_cast<const char*>(photo.bytes.data()), photo.bytes.size());
    const auto size = look_at_photo(photo.bytes);
    const bool plain = size && std::max(size->width, size->height) <= photo_side_px && bytes.starts_with("\xff\xd8") &&
                       told_by_photo(photo.bytes).empty();
    if (plain)
        return SheetPicture{std::string(bytes), size->width, size->height};
    auto taken = take_photo(photo.bytes);
    if (!taken)
        return std::nullopt;
    return SheetPicture{std::move(taken->jpeg), taken->width, taken->height};
}

} // namespace

Printed gather(const Job& job, const Plan& strip, const Plan& refit, const SheetSettings& settings) {
    const Map& map = *job.map;
    Printed out{job, strip, refit, settings, {}, {}, {}, {}, tightenings(job, refit), {}, {}, {}, {}};
    out.turns = step_numbers(job, strip, refit, out.tightenings);
    out.number_of.assign(map.fasteners.size(), 0);
    out.out_at.assign(map.fasteners.size(), 0);
    out.back_at.assign(map.fasteners.size(), 0);
    const auto slot_of = [&](ItemId item) { return static_cast<std::size_t>(map[item].detail); };
    for (std::size_t s = 0; s < strip.steps.size(); ++s)
        for (const ItemId item : strip.steps[s].items) {
            if (strip.steps[s].verb != Verb::take_out || !map.is_fastener(item))
                continue;
            const Fastener& fastener = map.fastener(item);
            out.out_at[slot_of(item)] = s + 1;
            // What stays in its part, or at the end of its lead, is not laid down.
            if (fastener.kind == FastenerKind::connector || fastener.captive_in || fastener.leaves_with)
                continue;
            if (out.number_of[slot_of(item)] == 0) {
                out.boarded.push_back(item);
                out.number_of[slot_of(item)] = static_cast<int>(out.boarded.size());
            }
        }
    for (std::size_t s = 0; s < refit.steps.size(); ++s)
        for (const ItemId item : refit.steps[s].items)
            if (map.is_fastener(item) && (refit.steps[s].verb == Verb::start || refit.steps[s].verb == Verb::seat ||
                                          refit.steps[s].verb == Verb::tighten)) // the last of them
                out.back_at[slot_of(item)] = s + 1;
    if (settings.boards && !out.boarded.empty()) {
        const Solids solids = make_solids(map);
        const std::vector<Head> heads = heads_of(solids);
        for (const ItemId item : out.boarded)
            out.outlines.push_back(outline_of(solids, heads, map.fastener(item)));
    }
    if (settings.picture)
        for (const bool back : {false, true})
            for (std::size_t i = 0; i < (back ? refit : strip).steps.size(); ++i)
                out.pictures[back ? 1 : 0].push_back(settings.picture(back, i));
    for (const Photo& photo : map.photos)
        out.photos.push_back(print_of(photo));
    return out;
}

std::string title_of_job(const Map& map) {
    return printable(map.job.empty() ? std::filesystem::path(map.path).filename().string() : map.job);
}

void print_caution(Pages& pages, const std::string& words, double x, double width) {
    const double from = pages.y();
    const int page = pages.page();
    pages.skip(1);
    pages.text(Ink::strong, words, x + mm(3.5), width - mm(3.5));
    pages.skip(1);
    // Where it went over to another page, its end there.
    const double begin = pages.page() == page ? from : pages.top();
    pages.bar(x, begin, mm(1.4), pages.y() - begin, 0);
    pages.skip(2);
}

} // namespace inside

tl::expected<std::string, std::string> print_sheet(const Job& job, const Plan& strip, const Plan& refit,
                                                   const SheetSettings& settings) {
    const inside::Printed printed = inside::gather(job, strip, refit, settings);
    return print_pages(settings.paper, inside::title_of_job(*job.map), [&](Pages& pages) {
        inside::print_front(pages, printed);
        pages.new_page();
        inside::print_way(pages, printed, false);
        pages.new_page();
        inside::print_way(pages, printed, true);
        if (!printed.outlines.empty()) {
            pages.new_page();
            inside::print_board(pages, printed);
            pages.new_page();
            inside::print_labels(pages, printed);
        }
    });
}

} // namespace boltwalk

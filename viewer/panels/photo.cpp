// A step's photographs: small in its card, one of them large over everything else.
#include <algorithm>

#include <fmt/format.h>

#include "viewer/panels/panels.hpp"
#include "viewer/panels/prints.hpp"

namespace boltwalk {

namespace {

/// Drawn as large as it fits, in the middle; where it ended up.
Box put_print(const Ui& ui, const Prints::Print& print, const Box& box) {
    const float share = std::min(box.w / float(std::max(print.width, 1)), box.h / float(std::max(print.height, 1)));
    const float w = float(print.width) * share, h = float(print.height) * share;
    const Box at{box.x + (box.w - w) / 2, box.y + (box.h - h) / 2, w, h};
    ImDrawList* list = ImGui::GetWindowDrawList();
    if (print.texture != 0)
        list->AddImage(reinterpret_cast<ImTextureID>(std::uintptr_t(print.texture)), {at.x, at.y},
                       {at.right(), at.bottom()});
    list->AddRect({at.x, at.y}, {at.right(), at.bottom()}, packed(ui.theme.panel_edge), 0, 0, ui.sizes.line);
    return at;
}

} // namespace

void draw_photo_row(Ui& ui, const Map& map, const std::vector<std::int32_t>& photos, std::int32_t& shown, float width) {
    if (photos.empty() || ui.prints == nullptr)
        return;
    const ImVec2 from = ImGui::GetCursorScreenPos();
    Flow flow = flow_here(width);
    const float h = std::max(ui.sizes.target * 2, ui.sizes.text * 5), w = std::min(width, h * 4 / 3);
    for (const std::int32_t photo : photos) {
        const Prints::Print& print = ui.prints->of(map, photo);
        const std::string name = printable(map.photos[std::size_t(photo)].name);
        const Box box = flow.next(w, h, ui.sizes.gap);
        if (print.texture == 0) {
            ImGui::SetCursorScreenPos({box.x, box.y});
            paragraph(fmt::format("{}: {}", name, print.why), packed(ui.theme.doubt), ui.fonts.text, box.w);
            continue;
        }
        put_print(ui, print, box);
        if (button(ui, "photo.small." + name, "", box, {.look = Rank::bare}))
            shown = photo;
    }
    settle(ui, from, flow);
}

void draw_photo(Ui& ui, const Map& map, std::int32_t& shown, const std::vector<std::int32_t>& among, const Box& all) {
    const Prints::Print print = ui.prints->of(map, shown);
    const std::string name = printable(map.photos[std::size_t(shown)].name);
    const float h = ui.sizes.target, gap = std::max(ui.sizes.gap, 8.0F);
    const auto place = std::find(among.begin(), among.end(), shown);
    const bool several = among.size() > 1 && place != among.end();
    const Box picture{all.x, all.y, all.w, all.h - h - gap};
    ui.areas.push_back(put_print(ui, print, picture));
    Box row{all.x, all.bottom() - h, all.w, h};
    const float close = width_of(ui, "Close", {.look = Rank::main});
    if (button(ui, "photo.close", "Close", {row.right() - close, row.y, close, h}, {.look = Rank::main}))
        shown = -1;
    row.w -= close + gap;
    if (several) {
        const float next = width_of(ui, "Next one");
        if (button(ui, "photo.next", "Next one", {row.right() - next, row.y, next, h}) && shown >= 0)
            shown = place + 1 == among.end() ? among.front() : *(place + 1);
        row.w -= next + gap;
    }
    const std::string count = several ? fmt::format("{} of {}: ", place - among.begin() + 1, among.size()) : "";
    text_in(ui, print.why.empty() ? count + name : fmt::format("{}{}: {}", count, name, print.why), row, 0,
            packed(ui.theme.text), ui.fonts.text);
}

} // namespace boltwalk

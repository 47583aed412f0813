// The form that says what is picked.
#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "viewer/panels/marking_room.hpp"

namespace boltwalk {

namespace {

constexpr const char* KIND_NAMES[] = {"Scenery", "Part", "Fastener", "Task", "Group"};

/// What is proposed of the one node picked, with its figures, and the answers.
void draw_proposal(Window& window, std::size_t index, float width) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    const Proposal& p = marking.proposals.list[index];
    section(ui, "Proposed", width);
    // The answers first: they stay where they are, however much there is to read.
    const std::vector<std::size_t> alike = alike_open(marking, index);
    bool changed = false;
    buttons(ui, width, [&](const auto& put) {
        if (put("mark.take", "Take it"))
            changed = take_proposals(marking, {index});
        else if (alike.size() > 1 && put("mark.take_alike", fmt::format("Take all {} alike", alike.size())))
            changed = take_proposals(marking, alike);
        else if (put("mark.refuse", "It is none"))
            changed = refuse_proposal(marking, index);
    });
    if (changed) {
        window.settle = SETTLE_FRAMES;
        return;
    }
    paragraph(fmt::format("{}: {}", spoken(p.sureness), spoken(p.kind)), packed(ui.theme.text), ui.fonts.strong, width);
    for (const std::string& why : p.why)
        paragraph(printable(why), packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad * 0.5F);
}

/// What a newcomer needs comes first; the others when they are asked for.
bool is_common(KeyId id) {
    switch (id) {
    case KeyId::part:
    case KeyId::fastener:
    case KeyId::task:
    case KeyId::group:
    case KeyId::holds:
    case KeyId::from:
    case KeyId::thread:
    case KeyId::length_mm:
    case KeyId::drive:
    case KeyId::torque:
    case KeyId::fixed:
    case KeyId::mass_kg:
    case KeyId::after:
    case KeyId::note:
        return true;
    default:
        return false;
    }
}

/// Those of what is picked, small; a way to add one, and to take each out.
void draw_photos(Window& window, float width) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    section(ui, "Photographs", width);
    std::vector<std::int32_t> there;
    const std::vector<std::string> names = photos_of(marking);
    for (std::size_t p = 0; p < marking.map.photos.size(); ++p)
        if (std::find(names.begin(), names.end(), marking.map.photos[p].name) != names.end())
            there.push_back(std::int32_t(p));
    draw_photo_row(ui, marking.map, there, window.view.photo, width);
    std::string dropped;
    if (!names.empty()) // a row without a button would be as high as what is scrolled out of sight
        buttons(ui, width, [&](const auto& put) {
            for (const std::string& name : names)
                if (put("mark.photo.out." + name, "Take out " + printable(name)))
                    dropped = name;
        });
    if (!dropped.empty()) {
        drop_photo(marking, dropped);
        window.settle = SETTLE_FRAMES;
        return;
    }
    paragraph(how_to_add_photo(), packed(ui.theme.text_soft), ui.fonts.text, width);
    std::string path;
    if (photo_field(window, room.photo_path, width, path)) {
        if (add_photo(marking, path))
            room.photo_path.clear();
        window.settle = SETTLE_FRAMES;
    }
}

/// A title for what is picked, and the button that makes a group of it.
void draw_new_group(Window& window, float width) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    section(ui, "A new group of these", width);
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const float h = ui.sizes.target, w = width_of(ui, "Make it");
    const bool entered = text_field(ui, window.desk, "mark.group.title", "its title: Skid plate bolts",
                                    {at.x, at.y, width - w - ui.sizes.gap, h}, room.group_title);
    const bool pressed = button(ui, "mark.group.make", "Make it", {at.x + width - w, at.y, w, h});
    ImGui::SetCursorScreenPos(at);
    take_room(width, h + ui.sizes.gap);
    if (!entered && !pressed)
        return;
    if (make_group(marking, room.group_title))
        room.group_title.clear();
    window.settle = SETTLE_FRAMES;
}

std::string heading_of(const Marking& marking) {
    return marking.picked.empty()       ? "The whole job"
           : marking.picked.size() == 1 ? label_of(marking, marking.picked.front())
                                        : fmt::format("{} nodes picked", marking.picked.size());
}

/// What a group, or any node without a shape of its own, has below it: the drawing marks the same.
void draw_gathered(Ui& ui, const Marking& marking, std::int32_t node, float width) {
    const std::vector<std::int32_t> held = held_by(marking, node);
    if (held.empty() || marking.item_of[std::size_t(node)])
        return;
    constexpr std::size_t most = 12;
    std::string text = fmt::format("{} shape{} below it: ", held.size(), held.size() == 1 ? "" : "s");
    for (std::size_t i = 0; i < std::min(most, held.size()); ++i)
        text += (i > 0 ? ", " : "") + label_of(marking, held[i]);
    if (held.size() > most)
        text += fmt::format(" and {} more", held.size() - most);
    paragraph(printable(text), packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad * 0.5F);
}

} // namespace

void draw_mark_form(Window& window, const Box& box) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    plate(ui, box);
    Box inside = box.inset(ui.sizes.pad);
    // What is spoken of stays in sight while its keys scroll.
    const std::string title = printable(heading_of(marking));
    const float high = height_of(title, ui.fonts.heading, inside.w) + ui.sizes.pad * 0.5F;
    ImGui::SetCursorScreenPos({inside.x, inside.y});
    paragraph(title, packed(ui.theme.text), ui.fonts.heading, inside.w);
    inside.y += high;
    inside.h -= high;
    const float width = begin_scroll(ui, "mark.form", inside, room.form);
    // A value that was being typed when something else was picked is said of what it was typed for.
    if (room.typing != KeyId::id && room.typing_nodes != marking.picked) {
        const KeyId id = std::exchange(room.typing, KeyId::id);
        std::swap(room.typing_nodes, marking.picked);
        set_value(marking, id, room.texts[std::size_t(id)]);
        std::swap(room.typing_nodes, marking.picked);
        marking.typed.clear();
        marking.typed_for.clear();
    }
    // What stands in the fields follows what is picked and what was done to it.
    std::string now = fmt::format("{}:", marking.done);
    for (const std::int32_t node : marking.picked)
        now += fmt::format(" {}", node);
    if (now != room.texts_of && room.typing == KeyId::id) {
        room.texts_of = now;
        for (std::size_t k = 0; k < key_count; ++k)
            room.texts[k] = shown_of(marking, KeyId(k));
    }
    if (room.offering_nodes != marking.picked) // what was offered was for something else
        marking.offering = KeyId::id;
    if (marking.picked.empty()) {
        paragraph(
            "Click a shape in the drawing, or a row of the list. Shift, or Several, picks more than one; By a box "
            "picks what a dragged box holds.",
            packed(ui.theme.text), ui.fonts.text, width);
        space(ui.sizes.pad);
        for (const KeyId id : keys_for(marking))
            draw_mark_key(window, id, width);
        end_scroll(ui, "mark.form", room.form);
        return;
    }
    const std::int32_t first = marking.picked.front();
    buttons(ui, width, [&](const auto& put) {
        if (put("mark.alike", "All like this one"))
            pick_alike(marking);
        if (put("mark.none", "Let go"))
            marking.picked.clear();
    });
    if (marking.picked.empty()) {
        end_scroll(ui, "mark.form", room.form);
        return;
    }
    if (marking.picked.size() == 1)
        draw_gathered(ui, marking, first, width);
    if (marking.picked.size() == 1)
        for (const std::size_t i : open_proposals(marking))
            if (marking.proposals.list[i].node == first) {
                draw_proposal(window, i, width);
                break;
            }
    section(ui, "What it is", width);
    const MarkKind kind = kind_of(marking, first);
    buttons(ui, width, [&](const auto& put) {
        for (const MarkKind one :
             {MarkKind::part, MarkKind::fastener, MarkKind::group, MarkKind::task, MarkKind::scenery})
            if (put(fmt::format("mark.as.{}", KIND_NAMES[std::size_t(one)]), KIND_NAMES[std::size_t(one)],
                    {.on = one == kind}) &&
                one != kind) {
                mark_as(marking, one);
                window.settle = SETTLE_FRAMES;
            }
    });
    if (can_group(marking))
        draw_new_group(window, width);
    if (kind != MarkKind::scenery)
        draw_photos(window, width);
    if (marking.picked.empty() || marking.picked.front() != first) { // a group was made: the next frame shows it
        end_scroll(ui, "mark.form", room.form);
        return;
    }
    const std::vector<KeyId> keys = keys_for(marking);
    for (const KeyId id : keys)
        if (is_common(id) || room.all_keys)
            draw_mark_key(window, id, width);
    if (!keys.empty())
        buttons(ui, width, [&](const auto& put) {
            if (put("mark.all_keys", room.all_keys ? "Fewer keys" : "All keys", {.on = room.all_keys}))
                room.all_keys = !room.all_keys;
        });
    if (keys.empty() && kind != MarkKind::scenery)
        paragraph("What is picked is of several kinds: no key fits all of it.", packed(ui.theme.text), ui.fonts.text,
                  width);
    end_scroll(ui, "mark.form", room.form);
}

} // namespace boltwalk

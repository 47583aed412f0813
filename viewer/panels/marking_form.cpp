// The lists of the room where a model is marked up, and the form that says what is picked.
#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "viewer/panels/marking_room.hpp"

namespace boltwalk {

namespace {

Mark mark_of(MarkKind kind) {
    switch (kind) {
    case MarkKind::part:
        return Mark::drawing;
    case MarkKind::fastener:
        return Mark::bolt;
    case MarkKind::task:
    case MarkKind::group:
        return Mark::words;
    default:
        return Mark::ahead;
    }
}

constexpr const char* KIND_NAMES[] = {"Scenery", "Part", "Fastener", "Task", "Group"};

bool is_picked(const Marking& marking, std::int32_t node) {
    return std::find(marking.picked.begin(), marking.picked.end(), node) != marking.picked.end();
}

std::string proposal_words(const Marking& marking, const Proposal& p) {
    std::string text = fmt::format("{}: {}", printable(marking.map.nodes[std::size_t(p.node)].name), spoken(p.kind));
    if (p.drive)
        text += ", " + p.drive->name;
    text += fmt::format(" ({})", spoken(p.sureness));
    return text;
}

void draw_nodes(Window& window, const Box& box) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    const float h = ui.sizes.target;
    const float w = width_of(ui, "Pick all");
    text_field(ui, window.desk, "mark.find", "part of a name", {box.x, box.y, box.w - w - ui.sizes.gap, h},
               room.search);
    const std::vector<std::int32_t> found = nodes_named(marking, room.search);
    if (button(ui, "mark.all", "Pick all", {box.right() - w, box.y, w, h}, {.enabled = !found.empty()})) {
        // What only holds others is picked by itself: with them, no key would fit all.
        marking.picked = found;
        const auto is_empty = [&](std::int32_t n) { return marking.map.nodes[std::size_t(n)].mesh < 0; };
        if (!std::all_of(found.begin(), found.end(), is_empty))
            std::erase_if(marking.picked, is_empty);
    }
    const Box rest{box.x, box.y + h + ui.sizes.gap, box.w, box.h - h - ui.sizes.gap};
    Scroll& scroll = room.lists[0];
    const float width = begin_scroll(ui, "mark.nodes", rest, scroll);
    std::size_t key = std::hash<std::string>{}(room.search) + marking.done * 31;
    draw_rows(
        ui, room.rows[0], scroll, width, key, found.size(),
        [&](std::size_t i) { return printable(marking.map.nodes[std::size_t(found[i])].name); },
        [&](std::size_t i, const Box& row) {
            const std::int32_t node = found[i];
            const std::string name = printable(marking.map.nodes[std::size_t(node)].name);
            if (list_row(ui, "mark.node." + name, name, row, mark_of(kind_of(marking, node)), packed(ui.theme.text),
                         is_picked(marking, node)))
                pick_node(marking, node, room.several || ImGui::GetIO().KeyShift || ImGui::GetIO().KeyCtrl);
        });
    end_scroll(ui, "mark.nodes", rest, scroll);
}

void draw_proposals(Window& window, const Box& box) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    const std::vector<std::size_t> open = open_proposals(marking);
    Scroll& scroll = room.lists[1];
    const float width = begin_scroll(ui, "mark.proposals", box, scroll);
    paragraph(open.empty()
                  ? "Nothing is proposed, or all of it was answered. What has neither flats nor a key is never "
                    "proposed: pick it and say what it is."
                  : "Estimated from shapes alone. Each is yours to confirm.",
              packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad);
    draw_rows(
        ui, room.rows[1], scroll, width, marking.done, open.size(),
        [&](std::size_t i) { return proposal_words(marking, marking.proposals.list[open[i]]); },
        [&](std::size_t i, const Box& row) {
            const Proposal& p = marking.proposals.list[open[i]];
            if (list_row(ui, "mark.proposal." + p.id, proposal_words(marking, p), row,
                         p.sureness == Sureness::fits_table   ? Mark::bolt
                         : p.sureness == Sureness::looks_like ? Mark::doubt
                                                              : Mark::note,
                         packed(ui.theme.text), is_picked(marking, p.node)))
                pick_node(marking, p.node, room.several || ImGui::GetIO().KeyShift || ImGui::GetIO().KeyCtrl);
        });
    end_scroll(ui, "mark.proposals", box, scroll);
}

void draw_mark_findings(Window& window, const Box& box) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    Scroll& scroll = room.lists[2];
    const float width = begin_scroll(ui, "mark.findings", box, scroll);
    if (marking.findings.empty())
        paragraph("Nothing found. That says only that the map does not contradict itself.", packed(ui.theme.text),
                  ui.fonts.text, width);
    const auto words = [&](std::size_t i) {
        const Finding& f = marking.findings[i];
        std::string text = printable(f.what);
        if (!f.nodes.empty())
            text = printable(f.nodes.front()) + ": " + text;
        return text + (f.remedy.empty() ? "" : "\n" + printable(f.remedy));
    };
    draw_rows(ui, room.rows[2], scroll, width, marking.done, marking.findings.size(), words,
              [&](std::size_t i, const Box& row) {
                  const Finding& f = marking.findings[i];
                  if (!list_row(ui, fmt::format("mark.finding.{}", i + 1), words(i), row, mark_of(f.weight),
                                colour_of(ui, f.weight), false))
                      return;
                  marking.picked.clear();
                  for (const std::string& name : f.nodes)
                      for (const std::int32_t node : nodes_named(marking, name))
                          if (marking.map.nodes[std::size_t(node)].name == name)
                              pick_node(marking, node, true);
              });
    end_scroll(ui, "mark.findings", box, scroll);
}

/// Buttons that flow on under the cursor.
template <typename Put>
void buttons(Ui& ui, float width, const Put& put) {
    const ImVec2 from = ImGui::GetCursorScreenPos();
    Flow flow = flow_here(width);
    put([&](const std::string& id, const std::string& label, Style style = {}) {
        const float w = std::min(width, width_of(ui, label, style));
        return button(ui, id, label, flow.next(w, ui.sizes.target, ui.sizes.gap), style);
    });
    settle(ui, from, flow);
}

/// What is proposed of the one node picked, with its figures, and the answers.
void draw_proposal(Window& window, std::size_t index, float width) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    const Proposal& p = marking.proposals.list[index];
    section(ui, "Proposed", width);
    paragraph(fmt::format("{}: {}", spoken(p.sureness), spoken(p.kind)), packed(ui.theme.text), ui.fonts.strong, width);
    for (const std::string& why : p.why)
        paragraph(printable(why), packed(ui.theme.text), ui.fonts.text, width);
    space(ui.sizes.pad * 0.5F);
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
    if (changed)
        window.settle = SETTLE_FRAMES;
}

void draw_key(Window& window, KeyId id, float width) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    const std::string name(key_of(id).name);
    bool differ = false;
    value_of(marking, id, &differ);
    std::string& text = room.texts[std::size_t(id)];
    paragraph(differ ? name + "  (several values)" : name, packed(ui.theme.text_soft), ui.fonts.text, width);
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const float h = ui.sizes.target, icon = ui.sizes.icon;
    const std::vector<std::string> offers =
        room.offering == id || room.typing == id ? offers_for(marking, id) : std::vector<std::string>{};
    const Box field{at.x, at.y, width - icon - ui.sizes.gap, h};
    const std::string before = text;
    const bool entered = text_field(ui, window.desk, "mark.key." + name, std::string(hint_of(id)).c_str(), field, text);
    const bool active = ui.book.back().on;
    if (button(ui, "mark.offers." + name, "", {field.right() + ui.sizes.gap, at.y, icon, h},
               {.mark = room.offering == id ? Mark::up : Mark::down, .on = room.offering == id}))
        room.offering = room.offering == id ? KeyId::id : id;
    ImGui::SetCursorScreenPos(at);
    ImGui::Dummy({width, h + ui.sizes.gap});
    if (active) {
        if (room.typing != id)
            room.typing_nodes = marking.picked;
        room.typing = id;
        if (text != before || marking.typed_for.empty())
            try_value(marking, id, text);
    }
    const bool left = room.typing == id && !active;
    if (entered || left) {
        room.typing = KeyId::id;
        marking.typed.clear();
        marking.typed_for.clear();
        set_value(marking, id, text);
        window.settle = SETTLE_FRAMES;
        return;
    }
    if (active)
        for (const Finding& finding : marking.typed) {
            framed(ui, printable(finding.what), mark_of(finding.weight), colour_of(ui, finding.weight), width);
            if (!finding.remedy.empty())
                paragraph(printable(finding.remedy), packed(ui.theme.text), ui.fonts.text, width);
        }
    // What is wrong is brought into sight: it stands below the field.
    const float below = ImGui::GetCursorScreenPos().y - ImGui::GetWindowPos().y - ImGui::GetWindowHeight();
    if (active && !marking.typed.empty() && below > 0) {
        room.form.want = room.form.at + below;
        window.settle = SETTLE_FRAMES;
    }
    if (room.offering != id)
        return;
    if (offers.empty())
        paragraph("Nothing to choose from: type it.", packed(ui.theme.text), ui.fonts.text, width);
    std::string chosen;
    buttons(ui, width, [&](const auto& put) {
        for (const std::string& offer : offers)
            if (put(fmt::format("mark.offer.{}.{}", name, offer), printable(offer), {.on = offer == text}))
                chosen = offer;
    });
    if (!chosen.empty()) {
        // Names and states are lists: another one is added to what stands there.
        const bool adds = names_items(id) && !text.empty() && text.find(chosen) == std::string::npos;
        room.offering = adds || names_items(id) ? id : KeyId::id;
        set_value(marking, id, adds ? text + "; " + chosen : chosen);
        window.settle = SETTLE_FRAMES;
    }
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
    ImGui::Dummy({width, h + ui.sizes.gap});
    if (!entered && !pressed)
        return;
    if (make_group(marking, room.group_title))
        room.group_title.clear();
    window.settle = SETTLE_FRAMES;
}

} // namespace

void draw_mark_list(Window& window, MarkTab tab, const Box& box) {
    plate(window.ui, box);
    const Box inside = box.inset(window.ui.sizes.pad);
    if (tab == MarkTab::nodes)
        draw_nodes(window, inside);
    else if (tab == MarkTab::proposals)
        draw_proposals(window, inside);
    else
        draw_mark_findings(window, inside);
}

void draw_mark_form(Window& window, const Box& box) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    plate(ui, box);
    const Box inside = box.inset(ui.sizes.pad);
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
            room.texts[k] = value_of(marking, KeyId(k));
    }
    if (marking.picked.empty()) {
        paragraph("The whole job", packed(ui.theme.text), ui.fonts.heading, width);
        space(ui.sizes.pad * 0.5F);
        paragraph(
            "Click a shape in the drawing, or a row of the list. Shift, or Several, picks more than one; By a box "
            "picks what a dragged box holds.",
            packed(ui.theme.text), ui.fonts.text, width);
        space(ui.sizes.pad);
        for (const KeyId id : keys_for(marking))
            draw_key(window, id, width);
        end_scroll(ui, "mark.form", inside, room.form);
        return;
    }
    const std::int32_t first = marking.picked.front();
    const std::string title = marking.picked.size() == 1 ? marking.map.nodes[std::size_t(first)].name
                                                         : fmt::format("{} nodes picked", marking.picked.size());
    paragraph(printable(title), packed(ui.theme.text), ui.fonts.heading, width);
    space(ui.sizes.pad * 0.5F);
    buttons(ui, width, [&](const auto& put) {
        if (put("mark.alike", "All like this one"))
            pick_alike(marking);
        if (put("mark.none", "Let go"))
            marking.picked.clear();
    });
    if (marking.picked.empty()) {
        end_scroll(ui, "mark.form", inside, room.form);
        return;
    }
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
        end_scroll(ui, "mark.form", inside, room.form);
        return;
    }
    const std::vector<KeyId> keys = keys_for(marking);
    for (const KeyId id : keys)
        if (is_common(id) || room.all_keys)
            draw_key(window, id, width);
    if (!keys.empty())
        buttons(ui, width, [&](const auto& put) {
            if (put("mark.all_keys", room.all_keys ? "Fewer keys" : "All keys", {.on = room.all_keys}))
                room.all_keys = !room.all_keys;
        });
    if (keys.empty() && kind != MarkKind::scenery)
        paragraph("What is picked is of several kinds: no key fits all of it.", packed(ui.theme.text), ui.fonts.text,
                  width);
    end_scroll(ui, "mark.form", inside, room.form);
}

} // namespace boltwalk

// The room in which a model is marked up: the drawing, the rows about it, and what a press there does.
#include "viewer/panels/marking_room.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace boltwalk {

namespace {

glm::dvec2 size_of(const Box& box) {
    return {double(box.w), double(box.h)};
}

void look(const Marking& marking, MarkRoom& room, Place place, const Box& drawing) {
    room.camera = fitted(turned_to(room.camera, place), marking.stage.bounds, size_of(drawing), 0.06);
    room.fitted_to = size_of(drawing);
}

void look_at_picked(const Marking& marking, MarkRoom& room, const Box& drawing) {
    Bounds bounds;
    for (const std::int32_t node : drawn_of_picked(marking))
        if (const Bounds& own = marking.stage.node_bounds[std::size_t(node)]; !own.empty())
            bounds.add(own);
    if (bounds.empty())
        return;
    // With as much about it as it is large: alone, nobody knows where it is.
    const glm::dvec3 about = 1.5 * bounds.size() + glm::dvec3(0.01);
    bounds.low -= about;
    bounds.high += about;
    room.camera = fitted(room.camera, bounds, size_of(drawing), 0.06);
    room.fitted_to.reset();
}

std::vector<Pose> poses_of(const Marking& marking) {
    std::vector<Pose> poses(marking.shown->items.size());
    for (const std::int32_t node : marking.hidden)
        if (const ItemId item = marking.item_of[std::size_t(node)])
            poses[std::size_t(item.index)].presence = 0;
    return poses;
}

void pick_in_box(Marking& marking, const MarkRoom& room, const Box& drawing, const Rect& area, bool also) {
    const Projection projection = project(room.camera, size_of(drawing), marking.stage.bounds);
    if (!also)
        marking.picked.clear();
    for (const std::int32_t node : marking.stage.shown) {
        if (marking.hidden.contains(node))
            continue;
        const auto at = to_screen(projection, marking.stage.node_bounds[std::size_t(node)].centre());
        if (at && at->x >= area.x && at->y >= area.y && at->x <= area.right() && at->y <= area.bottom() &&
            std::find(marking.picked.begin(), marking.picked.end(), node) == marking.picked.end())
            marking.picked.push_back(node);
    }
    marking.said = fmt::format("{} picked", marking.picked.size());
}

void point(Window& window, const Box& box) {
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    ImGuiIO& io = ImGui::GetIO();
    ImGui::SetCursorScreenPos({box.x, box.y});
    ImGui::InvisibleButton("drawing", {box.w, box.h},
                           ImGuiButtonFlags_MouseButtonLeft | ImGuiButtonFlags_MouseButtonRight |
                               ImGuiButtonFlags_MouseButtonMiddle);
    const glm::dvec2 px = size_of(box), at{double(io.MousePos.x - box.x), double(io.MousePos.y - box.y)};
    if (ImGui::IsItemActivated()) {
        window.pressed_x = io.MousePos.x;
        window.pressed_y = io.MousePos.y;
        window.dragged = false;
    }
    const bool left = ImGui::IsMouseDown(ImGuiMouseButton_Left);
    if (ImGui::IsItemActive()) {
        window.dragged = window.dragged || std::abs(io.MousePos.x - window.pressed_x) > CLICK_PX ||
                         std::abs(io.MousePos.y - window.pressed_y) > CLICK_PX;
        const double dx = double(io.MouseDelta.x), dy = double(io.MouseDelta.y);
        if (window.dragged && !(room.box && left)) {
            room.fitted_to.reset();
            room.camera = left && !io.KeyShift ? orbited(room.camera, -dx * ORBIT_DEG_PER_PX, dy * ORBIT_DEG_PER_PX)
                                               : panned(room.camera, {dx, dy}, double(box.h));
        }
    }
    if (ImGui::IsItemHovered() && io.MouseWheel != 0) {
        room.fitted_to.reset();
        room.camera = zoomed(room.camera, std::pow(WHEEL_FACTOR, double(io.MouseWheel)), at, px);
    }
    if (!ImGui::IsItemDeactivated() || !ImGui::IsMouseReleased(ImGuiMouseButton_Left))
        return;
    const bool also = room.several || io.KeyShift || io.KeyCtrl;
    if (window.dragged) {
        if (room.box) {
            const double x = double(window.pressed_x - box.x), y = double(window.pressed_y - box.y);
            pick_in_box(marking, room, box,
                        {std::min(x, at.x), std::min(y, at.y), std::abs(at.x - x), std::abs(at.y - y)}, also);
        }
        return;
    }
    const auto hit =
        pick(marking.stage, poses_of(marking), ray_through(project(room.camera, px, marking.stage.bounds), at));
    if (hit && hit->node >= 0)
        pick_node(marking, hit->node, also);
    else if (!also)
        marking.picked.clear();
}

void draw_model(Window& window, const Box& box) {
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    if (room.uploaded != marking.stages) {
        window.drawing_error = window.canvas.load(marking.stage);
        room.uploaded = marking.stages;
        room.fitted_to = glm::dvec2(0); // not yet
    }
    // A question that goes, or a longer message, leaves the drawing another shape: it is fitted to that, too, until
    // somebody turns it.
    if (room.fitted_to && *room.fitted_to != size_of(box))
        look(marking, room, Place::not_stated, box);
    point(window, box);
    Frame frame;
    size_frame(window, box, frame);
    frame.camera = room.camera;
    frame.poses = poses_of(marking);
    frame.night = window.view.night;
    for (const std::int32_t node : drawn_of_picked(marking))
        if (const ItemId item = marking.item_of[std::size_t(node)]) {
            frame.next.push_back(item);
            frame.selected.push_back(item);
        }
    place_labels(marking.stage, {}, frame);
    room.frame = std::move(frame);
    show_picture(window, room.frame, box);
    tell_seen(window, room.frame, box);
    window.seen.model = {};
    if (const auto whole = screen_box(project(room.camera, size_of(box), marking.stage.bounds), marking.stage.bounds))
        window.seen.model = {box.x + float(whole->x), box.y + float(whole->y), float(whole->width),
                             float(whole->height)};
    ImDrawList* list = ImGui::GetWindowDrawList();
    const float line = window.ui.sizes.line;
    if (room.box && ImGui::IsMouseDown(ImGuiMouseButton_Left) && window.dragged) {
        const ImVec2 to = ImGui::GetIO().MousePos;
        if (box.holds(window.pressed_x, window.pressed_y))
            list->AddRect({std::min(window.pressed_x, to.x), std::min(window.pressed_y, to.y)},
                          {std::max(window.pressed_x, to.x), std::max(window.pressed_y, to.y)},
                          packed(window.ui.theme.text), 0, 0, line * 2);
    }
    list->AddRect({box.x, box.y}, {box.right(), box.bottom()}, packed(window.ui.theme.panel_edge), 3, 0, line);
}

/// The buttons under the drawing; with `draw` false only how far down they reach.
float tools(Window& window, const Box& row, const Box& drawing, bool draw) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    Flow flow(row);
    const auto put = [&](const char* id, const char* label, Style style = {}) {
        const Box box = flow.next(width_of(ui, label, style), ui.sizes.target, ui.sizes.gap);
        return draw && button(ui, id, label, box, style);
    };
    for (const PlaceButton& one : PLACES)
        if (put(one.id, one.label))
            look(marking, room, one.place, drawing);
    if (put("mark.fit", "Fit"))
        look(marking, room, Place::not_stated, drawing);
    const bool any = !marking.picked.empty();
    if (put("mark.near", "To picked", {.enabled = any}))
        look_at_picked(marking, room, drawing);
    if (put("mark.several", "Several", {.on = room.several, .role = "switch"}))
        room.several = !room.several;
    if (put("mark.box", "By a box", {.on = room.box, .role = "switch"}))
        room.box = !room.box;
    if (put("mark.hide", "Hide", {.enabled = any})) {
        marking.hidden.insert(marking.picked.begin(), marking.picked.end());
        marking.picked.clear();
    }
    if (put("mark.show", "Show all", {.enabled = !marking.hidden.empty()}))
        marking.hidden.clear();
    return flow.bottom - row.y;
}

/// A question about the whole model, its answers, and why it is asked. Its height; 0: none.
float question(Window& window, const Box& row, bool draw) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    const std::string text = question_of(marking);
    if (text.empty())
        return 0;
    const auto put = [&](const char* id, const char* label, float right, Style style = {}) {
        const float w = width_of(ui, label, style);
        const bool pressed = draw && button(ui, id, label, {right - w, row.y, w, ui.sizes.target}, style);
        return std::pair{pressed, right - w - ui.sizes.gap};
    };
    const auto [no, left_of_no] = put("mark.no", "No, leave it", row.right());
    const auto [yes, left_of_yes] = put("mark.yes", "Yes", left_of_no);
    const auto [why, left] = put("mark.why", "Why", left_of_yes, {.on = room.why, .role = "switch"});
    const float words = left - row.x;
    const float asked = std::max(ui.sizes.target, height_of(text, ui.fonts.strong, words));
    std::string reasons;
    for (const std::string& one : room.why ? why_asked(marking) : std::vector<std::string>{})
        reasons += (reasons.empty() ? "" : "\n") + one;
    const float height = asked + (reasons.empty() ? 0 : ui.sizes.gap + height_of(reasons, ui.fonts.text, row.w));
    if (!draw)
        return height;
    ImGui::SetCursorScreenPos({row.x, row.y});
    paragraph(text, packed(ui.theme.text), ui.fonts.strong, words);
    if (!reasons.empty()) {
        ImGui::SetCursorScreenPos({row.x, row.y + asked + ui.sizes.gap});
        paragraph(reasons, packed(ui.theme.text), ui.fonts.text, row.w);
    }
    if (why)
        room.why = !room.why;
    if (yes || no) {
        asks_scale(marking) ? answer_scale(marking, yes) : answer_up(marking, yes);
        room.why = false;
        window.settle = SETTLE_FRAMES;
    }
    return height;
}

void top_row(Window& window, const Box& top, bool says_tab) {
    Ui& ui = window.ui;
    Marking& marking = *window.view.marking;
    MarkRoom& room = *window.mark_room;
    Flow flow(top);
    const auto put = [&](const char* id, const std::string& label, Style style) {
        return button(ui, id, label, flow.next(width_of(ui, label, style), ui.sizes.target, ui.sizes.gap), style);
    };
    const auto tab = [&](MarkTab which, const char* id, const std::string& label) {
        if (put(id, label, {.on = room.tab == which}))
            room.tab = which;
    };
    tab(MarkTab::nodes, "mark.tab.nodes", "Nodes");
    tab(MarkTab::proposals, "mark.tab.proposals", fmt::format("Proposals {}", open_proposals(marking).size()));
    tab(MarkTab::findings, "mark.tab.findings", fmt::format("Findings {}", marking.findings.size()));
    if (says_tab)
        tab(MarkTab::says, "mark.tab.says", "What it is");
    if (put("mark.undo", "Undo", {.enabled = marking.done > 0}))
        undo(marking);
    if (put("mark.redo", "Redo", {.enabled = marking.done < marking.deeds.size()}))
        redo(marking);
    if (put("mark.day", window.view.night ? "Daylight" : "Night", {}))
        window.view.night = !window.view.night;
    if (put("mark.leave", "Leave", {}))
        leave_marking(window);
}

} // namespace

void draw_marking(Window& window, const Box& all) {
    Ui& ui = window.ui;
    const std::shared_ptr<Marking> kept = window.view.marking; // leaving lets go of it in the middle of the frame
    Marking& marking = *kept;
    if (!window.mark_room) {
        window.mark_room = std::make_shared<MarkRoom>();
        window.mark_room->tab = open_proposals(marking).empty() ? MarkTab::nodes : MarkTab::proposals;
        window.desk.field_asked = false;
    }
    const std::shared_ptr<MarkRoom> room = window.mark_room;
    const float gap = std::max(8.0F, ui.sizes.gap), h = ui.sizes.target, em = ui.sizes.text;
    window.layout = {};
    if (window.view.photo >= std::int32_t(marking.map.photos.size()))
        window.view.photo = -1;
    if (window.view.photo >= 0) {
        draw_photo(ui, marking.map, window.view.photo, {}, all);
        return;
    }
    const bool wide = all.w > em * 58;
    const Box top{all.x, all.y, all.w, h};
    // The last row: what was done last, where to save, save.
    const float save_width = width_of(ui, "Save", {.look = Rank::main});
    const Box last{all.x, all.bottom() - h, all.w, h};
    const float asked = question(window, {all.x, 0, all.w, 0}, false);
    // A long one has a strip of its own above that row: its end says what to do.
    const std::string said = printable(marking.said);
    const float half = std::round((last.w - save_width - 2 * gap) * 0.55F);
    const bool long_one = height_of(said, ui.fonts.text, half) > em * 1.8F;
    Box strip{all.x, last.y, all.w, 0};
    if (long_one) {
        strip.h = height_of(said, ui.fonts.text, all.w);
        strip.y -= strip.h + gap;
    }
    Box middle{all.x, top.bottom() + gap, all.w, strip.y - top.bottom() - 2 * gap};
    if (asked > 0) {
        question(window, {all.x, middle.y, all.w, asked}, true);
        middle.y += asked + gap;
        middle.h -= asked + gap;
    }
    const float list_width = wide ? em * 14.5F : std::min(em * 24, middle.w * 0.55F);
    const float form_width = wide ? em * 19 : 0;
    Box drawing{middle.x + (wide ? list_width + gap : 0), middle.y,
                middle.w - list_width - gap - (wide ? form_width + gap : 0), middle.h};
    const float tool_height = tools(window, {drawing.x, 0, drawing.w, 0}, drawing, false);
    const Box tool_row{drawing.x, middle.bottom() - tool_height, drawing.w, tool_height};
    drawing.h -= tool_height + gap;
    window.layout.drawing = drawing;
    window.layout.panel = wide ? Box{middle.x, middle.y, list_width, middle.h}
                               : Box{middle.right() - list_width, middle.y, list_width, middle.h};
    if (wide)
        window.layout.card = {middle.right() - form_width, middle.y, form_width, middle.h};
    top_row(window, top, !wide);
    if (!window.view.marking)
        return;
    if (drawing.w > 8 && drawing.h > 8)
        draw_model(window, drawing);
    tools(window, tool_row, drawing, true);
    if (room->tab == MarkTab::says && wide)
        room->tab = MarkTab::nodes;
    if (room->tab == MarkTab::says)
        draw_mark_form(window, window.layout.panel);
    else
        draw_mark_list(window, room->tab, window.layout.panel);
    if (wide)
        draw_mark_form(window, window.layout.card);
    if (long_one) {
        ImGui::SetCursorScreenPos({strip.x, strip.y});
        paragraph(said, packed(ui.theme.text), ui.fonts.text, strip.w);
    } else {
        text_in(ui, said, {last.x, last.y, half, h}, 0, packed(ui.theme.text), ui.fonts.text);
    }
    const float beside = long_one ? 0 : half + gap;
    // Another's file is replaced by a button of its own, beside the one that asked: a second click cannot do it.
    const bool asked_to = asks_replace(marking);
    const float replace_width = asked_to ? width_of(ui, "Replace it") + gap : 0;
    const Box field{last.x + beside, last.y, last.w - beside - save_width - replace_width - gap, h};
    const bool entered = text_field(ui, window.desk, "mark.path", "where to save it", field, marking.save_to);
    if (asked_to && button(ui, "mark.replace", "Replace it", {field.right() + gap, last.y, replace_width - gap, h}, {}))
        save(marking, true);
    else if (button(ui, "mark.save", "Save", {last.right() - save_width, last.y, save_width, h},
                    {.look = Rank::main,
                     .enabled = !asked_to && (is_unsaved(marking) || marking.save_to != marking.path)}) ||
             entered)
        save(marking);
}

void enter_marking(View& view) {
    if (!view.session || view.opening)
        return;
    auto marking = open_marking(view.session->map.path, view.written);
    if (marking)
        view.marking = *marking;
    else
        view.error = marking.error();
}

void leave_marking(Window& window) {
    View& view = window.view;
    view.written = view.marking->written;
    // What was saved is what is walked through from here on; what is not saved yet waits beside the file that is open.
    if (view.marking->saves > 0 && !is_unsaved(*view.marking))
        view.to_open = view.marking->saved_to;
    view.marking.reset();
    view.photo = -1;
    window.mark_room.reset();
    window.session_loaded = -1; // the walk's own model is uploaded anew
    window.settle = SETTLE_FRAMES;
}

} // namespace boltwalk

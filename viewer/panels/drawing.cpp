#include "viewer/panels/frames.hpp"

#include <imgui.h>

#include <algorithm>
#include <cmath>

#include "viewer/draw/gl.hpp"
#include "viewer/draw/letters.hpp"
#include "viewer/draw/shapes.hpp"

namespace boltwalk {

namespace {

void turn_by_pointer(Window& window, const Box& box) {
    View& view = window.view;
    ImGuiIO& io = ImGui::GetIO();
    ImGui::SetCursorScreenPos({box.x, box.y});
    ImGui::InvisibleButton("drawing", {box.w, box.h},
                           ImGuiButtonFlags_MouseButtonLeft | ImGuiButtonFlags_MouseButtonRight |
                               ImGuiButtonFlags_MouseButtonMiddle);
    const bool over = ImGui::IsItemHovered();
    if (ImGui::IsItemActivated()) {
        window.pressed_x = io.MousePos.x;
        window.pressed_y = io.MousePos.y;
        window.dragged = false;
    }
    const glm::dvec2 px{double(box.w), double(box.h)};
    if (ImGui::IsItemActive()) {
        const bool far = std::abs(io.MousePos.x - window.pressed_x) > CLICK_PX ||
                         std::abs(io.MousePos.y - window.pressed_y) > CLICK_PX;
        window.dragged = window.dragged || far;
        const double dx = double(io.MouseDelta.x), dy = double(io.MouseDelta.y);
        if (window.dragged && (dx != 0 || dy != 0)) {
            const bool left = ImGui::IsMouseDown(ImGuiMouseButton_Left) && !io.KeyShift;
            const Camera camera = camera_now(view);
            turn_by_hand(view, left ? orbited(camera, -dx * ORBIT_DEG_PER_PX, dy * ORBIT_DEG_PER_PX)
                                    : panned(camera, {dx, dy}, double(box.h)));
        }
    }
    const glm::dvec2 at{double(io.MousePos.x - box.x), double(io.MousePos.y - box.y)};
    if (over && io.MouseWheel != 0)
        turn_by_hand(view, zoomed(camera_now(view), std::pow(WHEEL_FACTOR, double(io.MouseWheel)), at, px));
    if (!is_walking(view) || window.dragged)
        return;
    Ui& ui = window.ui;
    const auto step_item = [&] {
        const ItemId numbered = number_under(window.picture.numbers, at);
        return numbered ? numbered : next_under(view, at, double(ui.sizes.target) * 0.5);
    };
    const auto ask_about = [&] {
        const ItemId own = step_item();
        if (const ItemId item = own ? own : item_under(view, at)) {
            pick_item(view, item);
        } else if (view.keeper) { // what the map says nothing of can still have been in the way
            unpick(view);
            view.scenery = scenery_under(view, at);
            if (!view.scenery.empty())
                view.panel = Panel::in_way;
        }
    };
    if ((ImGui::IsItemActive() || ImGui::IsItemDeactivated()) && !window.dragged && !window.desk.hold_taken &&
        held_long()) {
        window.desk.hold_taken = true;
        ask_about();
    }
    if (!ImGui::IsItemDeactivated())
        return;
    if (ImGui::IsMouseReleased(ImGuiMouseButton_Right)) {
        ask_about();
        return;
    }
    if (!ImGui::IsMouseReleased(ImGuiMouseButton_Left) || window.desk.hold_taken)
        return;
    // A fastener of this step is done, or is not.
    if (const ItemId item = step_item(); item && view.keeper) {
        view.picked = item;
        view.pointed.clear();
        tap(view, item);
        return;
    }
    // A label stands for the hardware that it names.
    for (const LabelBox& label : window.picture.frame.layout.boxes) {
        const Rect& r = label.box;
        const double x = at.x * double(window.density), y = at.y * double(window.density);
        if (x >= r.x && y >= r.y && x < r.right() && y < r.bottom() && label.wish >= 0 &&
            std::size_t(label.wish) < window.picture.frame.labels.size()) {
            pick_item(view, window.picture.frame.labels[std::size_t(label.wish)].items.front());
            return;
        }
    }
    const ItemId item = item_under(view, at);
    if (item)
        pick_item(view, item);
    else
        unpick(view);
}

} // namespace

void size_frame(const Window& window, const Box& box, Frame& frame) {
    size_frame(double(window.ui.sizes.text), double(window.density), box, frame);
}

void show_picture(Window& window, const Frame& frame, const Box& box) {
    if (window.canvas.show(frame))
        ++window.seen.drawings;
    if (!window.drawing_error.empty()) {
        text_in(window.ui, window.drawing_error, box, 0.5F, packed(window.ui.theme.text), window.ui.fonts.text);
        return;
    }
    const auto texture = reinterpret_cast<ImTextureID>(std::uintptr_t(window.canvas.texture()));
    ImGui::GetWindowDrawList()->AddImage(texture, {box.x, box.y}, {box.right(), box.bottom()}, {0, 1}, {1, 0});
}

void tell_seen(Window& window, const Frame& frame, const Box& box) {
    const auto in_window = [&](const Rect& rect) {
        return Box{box.x + float(rect.x) / window.density, box.y + float(rect.y) / window.density,
                   float(rect.width) / window.density, float(rect.height) / window.density};
    };
    window.seen.label_boxes.clear();
    for (const LabelBox& label : frame.layout.boxes)
        window.seen.label_boxes.push_back(in_window(label.box));
    const Gnomon gnomon = gnomon_of(frame);
    window.seen.gnomon = in_window(gnomon.plate);
    window.seen.gnomon_capital_px = capital_height_px(Face::strong, gnomon.text_px) / double(window.density);
}

void draw_drawing(Window& window, const Box& box) {
    View& view = window.view;
    const glm::dvec2 px{double(box.w), double(box.h)};
    if (px != view.drawing_px) {
        view.drawing_px = px;
        if (view.session && !view.by_hand) { // nobody turned it: it fits the new room at once
            if ((is_walking(view) && has_job(view)) || on_tour(view) != nullptr)
                look_at_step(view);
            else
                look_at_all(view);
            view.flight.t = 1;
        }
    }
    turn_by_pointer(window, box);

    next_picture(view, double(window.ui.sizes.text), double(window.density), box, window.picture);
    show_picture(window, window.picture.frame, box);

    tell_seen(window, window.picture.frame, box);
    ImDrawList* list = ImGui::GetWindowDrawList();
    list->PushClipRect({box.x, box.y}, {box.right(), box.bottom()}, true);
    draw_numbers(window.ui, window.picture.numbers, box);
    list->PopClipRect();
    list->AddRect({box.x, box.y}, {box.right(), box.bottom()}, packed(window.ui.theme.panel_edge), 3, 0,
                  window.ui.sizes.line);
}

/// What is being opened, as soon as it can be drawn: as it lies in the file, and nothing said of it.
void draw_preview(Window& window, const Session& made, const Box& box) {
    if (std::exchange(window.previewed, &made) != &made)
        window.drawing_error = window.canvas.load(made.stage);
    if (!window.drawing_error.empty())
        return;
    Frame frame;
    size_frame(window, box, frame);
    frame.camera = fitted(turned_to({}, Place::not_stated), made.stage.bounds, {double(box.w), double(box.h)});
    frame.night = window.view.night;
    frame.occlusion = frame.gnomon = false; // there as soon as can be, and then who works out the rest has the machine
    window.picture.frame = std::move(frame);
    show_picture(window, window.picture.frame, box);
}

} // namespace boltwalk

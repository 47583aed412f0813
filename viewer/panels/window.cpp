#include "viewer/panels/frames.hpp"

#include <imgui.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <utility>

#include "viewer/draw/gl.hpp"
#include "viewer/panels/letters.hpp"

namespace boltwalk {

namespace {

constexpr int WEBGL2_TEXTURE_PX = 2048; ///< what it guarantees (WebGL 2.0, 3.7.2: OpenGL ES 3.0, table 6.28)
constexpr float CLICK_PX = 4;           // a press that moves less is a click, not a drag
// Of the drawing at scale 1: its smallest letters, by the em (viewer/draw), and Dear ImGui's size for the same em.
constexpr double DRAWING_EM_PX = 14.5, SIZE_PER_EM = 3408.0 / 2816.0;
constexpr double ORBIT_DEG_PER_PX = 0.35, WHEEL_FACTOR = 1.15;

} // namespace

double now_s() {
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

void start_imgui() {
    IMGUI_CHECKVERSION();
    ImGui::CreateContext();
    ImGuiIO& io = ImGui::GetIO();
    io.IniFilename = nullptr;
    io.LogFilename = nullptr;
    io.ConfigInputTextCursorBlink = false; // nothing moves by itself: the window sleeps
}

void fit_letters(Window& window) {
    View& view = window.view;
    if (window.letters_reach == view.reach && window.letters_px_per_mm == window.desk.screen.px_per_mm &&
        window.letters_density == window.density && window.letters_session == view.sessions)
        return;
    const bool rebuilt = window.letters_session >= 0;
    window.letters_reach = view.reach;
    window.letters_px_per_mm = window.desk.screen.px_per_mm;
    window.letters_density = window.density;
    window.letters_session = view.sessions;
    window.ui.sizes = sizes_for(view.reach, window.desk.screen);
    window.near_sizes = sizes_for(Distance::hand, window.desk.screen);
    GLint most_px = WEBGL2_TEXTURE_PX;
    if (!ONE_THREAD)
        glGetIntegerv(GL_MAX_TEXTURE_SIZE, &most_px);
    load_letters(window.ui, window.ui.sizes, window.near_sizes, window.density, view.session.get(), most_px);
    if (rebuilt)
        show_letters();
    ImGui::GetIO().FontDefault = window.ui.fonts.text;
    ImGuiStyle& style = ImGui::GetStyle();
    style.WindowPadding = {0, 0};
    style.WindowBorderSize = 0;
    style.ChildBorderSize = 0;
    style.ItemSpacing = {0, 0};
    style.WindowMinSize = {1, 1};
    style.WindowRounding = style.ChildRounding = 0;
    style.AntiAliasedFill = style.AntiAliasedLines = true;
    window.settle = SETTLE_FRAMES;
}

namespace {

// ---------------------------------------------------------------------------------------------------------------------
// the drawing

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
        const ItemId numbered = number_under(window.numbers, at);
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
    if (ImGui::IsItemActive() && !window.desk.hold_taken && io.MouseDownDuration[0] > HOLD_SECONDS) {
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
    for (const LabelBox& label : window.frame.layout.boxes) {
        const Rect& r = label.box;
        const double x = at.x * double(window.density), y = at.y * double(window.density);
        if (x >= r.x && y >= r.y && x < r.right() && y < r.bottom() && label.wish >= 0 &&
            std::size_t(label.wish) < window.frame.labels.size()) {
            pick_item(view, window.frame.labels[std::size_t(label.wish)].items.front());
            return;
        }
    }
    const ItemId item = item_under(view, at);
    if (item)
        pick_item(view, item);
    else
        unpick(view);
}

/// Labels go along with what they name while anything moves, and settle when it rests.
void label_drawing(Window& window, const Stage& stage, std::span<const Rect> reserved, bool rests, Frame& frame) {
    View& view = window.view;
    const Frame& before = window.frame;
    const double seconds = std::exchange(view.labels_s, 0);
    const auto same_words = [](const Overlays& a, const Overlays& b) {
        return a.tracks == b.tracks && a.tools == b.tools && a.plumbs == b.plumbs;
    };
    if (before.labels != frame.labels || !same_words(before.over, frame.over) || before.width_px != frame.width_px ||
        before.height_px != frame.height_px || before.scale != frame.scale)
        view.moving_labels = {};
    else
        frame.layout = before.layout;
    // On its way to another view nothing is worth reading: they come when it is there.
    if (view.flight.t < 1 && view.moving_labels.held.empty()) {
        frame.layout = {};
        return;
    }
    move_labels(stage, reserved, rests, seconds, view.moving_labels, frame);
    if (!rests) // and then once more, at rest
        view.moving_labels.busy = true;
}

/// The drawing's own letters and lines follow the reading distance as ours do.
void size_frame(const Window& window, const Box& box, Frame& frame) {
    frame.width_px = int(std::lround(box.w * window.density));
    frame.height_px = int(std::lround(box.h * window.density));
    frame.scale = double(std::min(window.ui.sizes.text, box.h / 16) * window.density) / (DRAWING_EM_PX * SIZE_PER_EM);
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

    const Session& session = *view.session;
    Frame frame;
    size_frame(window, box, frame);
    frame.camera = camera_now(view);
    fill_frame(session.job, session.stage, view.shot, 0, frame);
    frame.poses = poses_now(view);
    frame.caption = {};
    if (view.back) // the arrow shows the way out; what is drawn is in already
        frame.moves.clear();
    // The paint stroke says that a final torque was logged.
    frame.painted.clear();
    if (view.keeper) {
        frame.painted.assign(session.map.items.size(), 0);
        for (std::size_t f = 0; f < view.done.now.sites.size(); ++f)
            if (view.done.now.sites[f].final_torque)
                frame.painted[std::size_t(session.map.fasteners[f].item.index)] = 1;
    }
    frame.night = view.night;
    frame.xray = view.see_through;
    if (!is_walking(view)) {
        frame.next.clear();
        frame.moves.clear();
        frame.labels.clear();
    }
    if (const OutOfSight* one = on_tour(view))
        frame.next = {one->fastener};
    frame.over = overlays_now(view);
    tell_ways(frame.over, frame.labels, frame.caption);
    if (!view.labels || view.motion < 1) {
        frame.labels.clear();
        without_words(frame.over); // nothing estimated without its word
    }
    if (view.picked)
        frame.selected.push_back(view.picked);
    for (const ItemId item : view.pointed)
        if (item != view.picked)
            frame.selected.push_back(item);
    const bool rests = window.frame.camera == frame.camera && window.frame.poses == frame.poses &&
                       window.frame.width_px == frame.width_px && window.frame.height_px == frame.height_px;
    window.numbers = numbers_of(window.ui, view, window.numbers, rests);
    label_drawing(window, session.stage, number_boxes(window.numbers, window.density), rests, frame);
    window.frame = std::move(frame);
    if (window.canvas.show(window.frame))
        ++window.seen.drawings;

    window.seen.label_boxes.clear();
    for (const LabelBox& label : window.frame.layout.boxes)
        window.seen.label_boxes.push_back(
            {box.x + float(label.box.x) / window.density, box.y + float(label.box.y) / window.density,
             float(label.box.width) / window.density, float(label.box.height) / window.density});
    ImDrawList* list = ImGui::GetWindowDrawList();
    if (!window.drawing_error.empty()) {
        text_in(window.ui, window.drawing_error, box, 0.5F, packed(window.ui.theme.text), window.ui.fonts.text);
    } else {
        const auto texture = reinterpret_cast<ImTextureID>(std::uintptr_t(window.canvas.texture()));
        list->AddImage(texture, {box.x, box.y}, {box.right(), box.bottom()}, {0, 1}, {1, 0});
    }
    list->PushClipRect({box.x, box.y}, {box.right(), box.bottom()}, true);
    draw_numbers(window.ui, window.numbers, box);
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
    window.frame = std::move(frame);
    if (window.canvas.show(window.frame))
        ++window.seen.drawings;
    const auto texture = reinterpret_cast<ImTextureID>(std::uintptr_t(window.canvas.texture()));
    ImGui::GetWindowDrawList()->AddImage(texture, {box.x, box.y}, {box.right(), box.bottom()}, {0, 1}, {1, 0});
}

// ---------------------------------------------------------------------------------------------------------------------
// a frame

/// From 3 m there is room for words alone, and whoever presses stands at the screen. A small one in the hand is near.
bool far_words(const Ui& ui, float width, float height) {
    return !ui.sizes.handheld && lay_out(width, height, ui.sizes, false, false).shape == Shape::words;
}

/// Draws with the letters and sizes of the hand's distance.
template <typename Draw>
void as_near(Window& window, const Draw& draw) {
    Ui& ui = window.ui;
    const Fonts far_fonts = std::exchange(ui.fonts, ui.near_fonts);
    const Sizes far_sizes = std::exchange(ui.sizes, window.near_sizes);
    ImGui::PushFont(ui.fonts.text);
    draw();
    ImGui::PopFont();
    ui.fonts = far_fonts;
    ui.sizes = far_sizes;
}

/// Before the walk: a card, and the drawing beside it where there is room.
Layout start_layout(const Window& window, const Box& all, bool near_words) {
    Layout layout;
    // Who confirms it stands at the screen: where the card's letters are for 3 m, these are for the hand.
    const float em = (near_words ? window.near_sizes : window.ui.sizes).text;
    // Cautions are read: the card is wide. On the round it is the drawing that is looked at.
    const float card = std::min(all.w, em * (on_tour(window.view) != nullptr ? 22 : 40)), margin = all.x;
    layout.card = {all.right() - card, all.y, card, all.h};
    layout.drawing = {all.x, all.y, all.w - card - margin, all.h};
    if (layout.drawing.w < em * 14) {
        layout.card = all;
        layout.drawing = {};
    }
    return layout;
}

void draw_panels(Window& window, float width, float height) {
    Ui& ui = window.ui;
    View& view = window.view;
    Desk& desk = window.desk;
    const float margin = std::max(8.0F, ui.sizes.gap);
    const Box all{margin, margin, width - 2 * margin, height - 2 * margin};
    if (view.opening) {
        window.layout = {};
        const Session* const made = view.session ? nullptr : view.opening->so_far();
        const Layout layout = start_layout(window, all, far_words(ui, width, height));
        const bool beside = made != nullptr && !layout.drawing.empty();
        if (beside)
            draw_preview(window, *made, layout.drawing);
        draw_opening(ui, view, beside ? layout.card : all);
        return;
    }
    if (view.marking) {
        // Nobody marks up a model from farther than the hand reaches.
        if (view.reach == Distance::bench || view.reach == Distance::helper)
            as_near(window, [&] { draw_marking(window, all); });
        else
            draw_marking(window, all);
        return;
    }
    if (!view.session || !view.error.empty() || view.choosing) {
        window.layout = {};
        draw_welcome(ui, view, desk, all);
        return;
    }
    if (!view.start_read) {
        const bool near_words = far_words(ui, width, height);
        const Layout layout = start_layout(window, all, near_words);
        window.layout = layout;
        if (!layout.drawing.empty())
            draw_drawing(window, layout.drawing);
        if (near_words)
            as_near(window, [&] { draw_start_card(ui, view, desk, layout.card); });
        else
            draw_start_card(ui, view, desk, layout.card);
        return;
    }
    // Without a job there is no step to speak of: the drawing has the room.
    Strips strips;
    const bool words_only = far_words(ui, width, height);
    // From 3 m there is room for the step alone: what is out is read by whoever stands at the screen.
    if (view.keeper)
        strips.ledger = (words_only ? window.near_sizes : ui.sizes).target;
    if (words_only)
        as_near(window, [&] { strips.warning = warning_height(ui, view, all.w); });
    else
        strips.warning = warning_height(ui, view, all.w);
    window.layout =
        lay_out(width, height, ui.sizes, view.panel != Panel::none, view.drawing_asked, tool_widths(ui, view), strips);
    const Layout& layout = window.layout;
    desk.shape = layout.shape;
    draw_top(ui, view, desk, layout);
    if (!layout.drawing.empty())
        draw_drawing(window, layout.drawing);
    draw_tools(ui, view, layout);
    if (words_only && !layout.panel.empty()) {
        as_near(window, [&] { draw_panel(ui, view, desk, layout.panel, layout); });
    } else {
        draw_panel(ui, view, desk, layout.panel, layout);
    }
    draw_card(ui, view, desk, layout.card);
    const auto draw_strips = [&] {
        draw_warning(ui, view, layout.warning);
        draw_ledger_row(ui, view, desk, layout);
    };
    if (words_only)
        as_near(window, draw_strips);
    else
        draw_strips();
    draw_last_row(ui, view, desk, layout);
}

} // namespace

void draw_frame(Window& window, const Surface& surface) {
    Ui& ui = window.ui;
    ui.theme = theme_of(window.view.night);
    ui.sizes = sizes_in(window.view.reach, window.desk.screen, surface.width, surface.height);
    ImGui::NewFrame();
    window.desk.press.begins();
    ui.begin_frame();
    window.view.moving_labels.busy = false; // of a drawing that is not shown
    window.desk.field_active = false;       // each field that is drawn says whether it is
    if (ImGui::IsMouseDown(ImGuiMouseButton_Left) && ImGui::GetIO().MouseDownDuration[0] < 2 * HOLD_SECONDS)
        window.settle = std::max(window.settle, 1); // a press may become a long one without anything else happening
    // Dear ImGui sees a button only frames after it moved, and what was drawn before the press shows how it was.
    for (const ImGuiMouseButton one : {ImGuiMouseButton_Left, ImGuiMouseButton_Right, ImGuiMouseButton_Middle})
        if (ImGui::IsMouseClicked(one) || ImGui::IsMouseReleased(one))
            window.settle = std::max(window.settle, SETTLE_FRAMES);
    if (ImGui::IsMouseClicked(ImGuiMouseButton_Left))
        window.desk.press.goes_down(now_s());
    ImGui::SetNextWindowPos({0, 0});
    ImGui::SetNextWindowSize({surface.width, surface.height});
    ImGui::Begin("boltwalk", nullptr,
                 ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoNav |
                     ImGuiWindowFlags_NoBackground | ImGuiWindowFlags_NoBringToFrontOnFocus |
                     ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoScrollWithMouse);
    draw_panels(window, surface.width, surface.height);
    ImGui::End();
    ui.end_frame();
    window.reader.follow(window.view);
    if (!ImGui::IsMouseDown(ImGuiMouseButton_Left)) {
        window.desk.hold_taken = false;
        window.desk.press.is_up();
    }
    ImGui::Render();

    const Colour& ground = ui.theme.paper;
    glBindFramebuffer(GL_FRAMEBUFFER, 0);
    glViewport(0, 0, surface.width_px, surface.height_px);
    glClearColor(float(ground.r) / 255, float(ground.g) / 255, float(ground.b) / 255, 1);
    glClear(GL_COLOR_BUFFER_BIT);
    show_imgui(surface);
    window.desk.press.ends(now_s());
}

bool take_session(Window& window, const Surface& surface) {
    View& view = window.view;
    if (window.session_loaded == view.sessions || !view.session)
        return false;
    window.session_loaded = view.sessions;
    window.desk.card = {};
    window.desk.start = {};
    for (Scroll& scroll : window.desk.panel)
        scroll = {};
    window.desk.open_finding = -1;
    window.desk.shown_step = SIZE_MAX;
    // Where a panel would take the drawing's place, the drawing comes first.
    if (lay_out(surface.width, surface.height, window.ui.sizes, false, false).shape != Shape::wide)
        view.panel = Panel::none;
    if (std::exchange(window.previewed, nullptr) != view.session.get())
        window.drawing_error = window.canvas.load(view.session->stage);
    window.seen.loaded_s = now_s();
    return true;
}

void take_news(Window& window) {
    const int news = window.view.study ? window.view.study->news() : 0;
    if (news == window.study_news)
        return;
    window.study_news = news;
    window.settle = std::max(window.settle, 2); // rows that become longer settle at the second
}

} // namespace boltwalk

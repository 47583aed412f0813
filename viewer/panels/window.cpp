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

} // namespace

bool held_long() {
    const ImGuiIO& io = ImGui::GetIO();
    return std::max(io.MouseDownDuration[0],
                    ImGui::IsMouseReleased(ImGuiMouseButton_Left) ? io.MouseDownDurationPrev[0] : 0) > HOLD_SECONDS;
}

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
    Desk& desk = window.desk;
    const std::string& focus = window.ui.focus;
    if (view.panel != Panel::display || (focus != RULER_SHORTER && focus != RULER_LONGER))
        desk.before_ruler.reset();
    const Screen& screen = screen_laid_out(desk);
    // While the first map opens nothing else is on the screen; once there are all letters they stay.
    const bool first = window.letters_session < 0 || !window.letters_only.empty();
    const std::string only = first && view.opening && !view.session ? view.opening->path() : std::string{};
    if (window.letters_reach == view.reach && window.letters_px_per_mm == screen.px_per_mm &&
        window.letters_density == window.density && window.letters_session == view.sessions &&
        window.letters_only == only)
        return;
    const bool rebuilt = window.letters_session >= 0;
    window.letters_reach = view.reach;
    window.letters_px_per_mm = screen.px_per_mm;
    window.letters_density = window.density;
    window.letters_session = view.sessions;
    window.letters_only = only;
    window.ui.sizes = sizes_for(view.reach, screen);
    window.near_sizes = sizes_for(Distance::hand, screen);
    GLint most_px = WEBGL2_TEXTURE_PX;
    if (!ONE_THREAD)
        glGetIntegerv(GL_MAX_TEXTURE_SIZE, &most_px);
    load_letters(window.ui, window.ui.sizes, window.near_sizes, window.density, {view.session.get(), only}, most_px);
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
    if (view.photo >= 0) {
        const std::vector<std::int32_t> among = photos_shown(view);
        if (std::find(among.begin(), among.end(), view.photo) == among.end())
            view.photo = -1;
        else {
            window.layout = {};
            draw_photo(ui, view.session->map, view.photo, among, all);
            return;
        }
    }
    // Without a job there is no step to speak of: the drawing has the room.
    Strips strips;
    strips.panel_has_tabs = has_tabs(view.panel);
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
    ui.prints = &window.prints;
    ui.theme = theme_of(window.view.night);
    ui.sizes = sizes_in(window.view.reach, screen_laid_out(window.desk), surface.width, surface.height);
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

#include "viewer/panels/window.hpp"

#include <epoxy/gl.h>
#define GLFW_INCLUDE_NONE
#include <backends/imgui_impl_glfw.h>
#include <backends/imgui_impl_opengl3.h>
#include <GLFW/glfw3.h>
#include <imgui.h>
#if IMGUI_VERSION_NUM >= 18700
#include <imgui_internal.h> // how many events it still keeps back
#endif

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <memory>
#include <utility>

#include "viewer/draw/draw.hpp"
#include "viewer/panels/canvas.hpp"
#include "viewer/panels/keys.hpp"
#include "viewer/panels/letters.hpp"
#include "viewer/panels/panels.hpp"
#include "viewer/panels/seen.hpp"

namespace boltwalk {

namespace {

// Dear ImGui settles what it shows over a frame or two after an event (hover, scroll limits of new contents).
constexpr int SETTLE_FRAMES = 3;
constexpr double FRAME_SECONDS = 1.0 / 60;
// A longer pause than this is no motion: the machine was busy, or nothing was drawn.
constexpr double LONGEST_FRAME_SECONDS = 0.1;
constexpr float CLICK_PX = 4; // a press that moves less is a click, not a drag
// Of the drawing at scale 1: its smallest letters, by the em (viewer/draw), and Dear ImGui's size for the same em.
constexpr double DRAWING_EM_PX = 14.5, SIZE_PER_EM = 3408.0 / 2816.0;
constexpr double ORBIT_DEG_PER_PX = 0.35, WHEEL_FACTOR = 1.15;

/// From 1.87 on Dear ImGui takes one change of a key or button a frame and keeps the rest for the next. A window that
/// sleeps would leave them lying until something else happens.
bool input_waits() {
#if IMGUI_VERSION_NUM >= 18700
    return ImGui::GetCurrentContext()->InputEventsQueue.Size > 0;
#else
    return false;
#endif
}

double now_s() {
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

struct Window {
    GLFWwindow* handle = nullptr;
    Ui ui;
    View view;
    Desk desk;
    Layout layout;
    Canvas canvas;
    Frame frame;
    OnScreen seen;
    int settle = SETTLE_FRAMES;
    float density = 1; ///< framebuffer pixels for one of the window
    int session_loaded = 0;
    int study_news = 0; ///< shown of what is worked out beside
    // what the letters in the atlas were made for
    Distance letters_reach = Distance::desk;
    double letters_px_per_mm = 0;
    float letters_density = 0;
    int letters_session = -1;
    bool letters_night = false;
    Sizes near_sizes;
    float pressed_x = 0, pressed_y = 0; ///< where a button went down in the drawing
    bool dragged = false;
    std::string drawing_error;
    bool drawn_words_shape = false;
};

Window& window_of(GLFWwindow* handle) {
    return *static_cast<Window*>(glfwGetWindowUserPointer(handle));
}

void wake_up(GLFWwindow* handle) {
    window_of(handle).settle = SETTLE_FRAMES;
}

void listen(GLFWwindow* handle) {
    glfwSetKeyCallback(handle, [](GLFWwindow* w, int key, int, int action, int mods) {
        Window& window = window_of(w);
        wake_up(w);
        if (action == GLFW_PRESS || action == GLFW_REPEAT)
            press_key(window.ui, window.view, window.desk, key, mods, window.desk.field_active);
    });
    glfwSetCharCallback(handle, [](GLFWwindow* w, unsigned) { wake_up(w); });
    glfwSetCursorPosCallback(handle, [](GLFWwindow* w, double, double) { wake_up(w); });
    glfwSetCursorEnterCallback(handle, [](GLFWwindow* w, int) { wake_up(w); });
    glfwSetMouseButtonCallback(handle, [](GLFWwindow* w, int, int, int) { wake_up(w); });
    glfwSetScrollCallback(handle, [](GLFWwindow* w, double, double) { wake_up(w); });
    glfwSetFramebufferSizeCallback(handle, [](GLFWwindow* w, int, int) { wake_up(w); });
    glfwSetWindowFocusCallback(handle, [](GLFWwindow* w, int) { wake_up(w); });
    glfwSetWindowRefreshCallback(handle, [](GLFWwindow* w) { wake_up(w); });
    glfwSetDropCallback(handle, [](GLFWwindow* w, int count, const char** paths) {
        wake_up(w);
        if (count > 0)
            open(window_of(w).view, paths[0]);
    });
}

/// The first picture, before letters and shaders exist: the ground. Nothing but one whole clear: Mesa's software
/// renderer compiles a shader even for a clear of a part.
void first_picture(Window& window) {
    const Colour& ground = theme_of(window.view.night).paper;
    glClearColor(float(ground.r) / 255, float(ground.g) / 255, float(ground.b) / 255, 1);
    glClear(GL_COLOR_BUFFER_BIT);
    glfwSwapBuffers(window.handle);
    glFinish();
    window.seen.first_swap_s = now_s();
}

Screen measure_screen() {
    GLFWmonitor* monitor = glfwGetPrimaryMonitor();
    if (monitor == nullptr)
        return {};
    const GLFWvidmode* mode = glfwGetVideoMode(monitor);
    int width_mm = 0, height_mm = 0;
    glfwGetMonitorPhysicalSize(monitor, &width_mm, &height_mm);
    return mode == nullptr ? Screen{} : screen_of(mode->width, mode->height, width_mm, height_mm);
}

/// Letters and sizes for the present distance, screen and map; only when one of them changed.
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
    load_letters(window.ui, window.ui.sizes, window.near_sizes, window.density, view.session.get());
    if (rebuilt) {
        ImGui_ImplOpenGL3_DestroyFontsTexture();
        ImGui_ImplOpenGL3_CreateFontsTexture();
    }
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
    if (!ImGui::IsItemDeactivated() || window.dragged || !ImGui::IsMouseReleased(ImGuiMouseButton_Left) ||
        !is_walking(view))
        return;
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
    frame.width_px = int(std::lround(box.w * window.density));
    frame.height_px = int(std::lround(box.h * window.density));
    const Sizes& sizes = window.ui.sizes;
    // The drawing's own letters and lines follow the reading distance as ours do.
    frame.scale = double(std::min(sizes.text, box.h / 16) * window.density) / (DRAWING_EM_PX * SIZE_PER_EM);
    frame.camera = camera_now(view);
    fill_frame(session.job, session.stage, view.shot, 0, frame);
    frame.poses = poses_now(view);
    frame.caption = {};
    if (view.back) // the arrow shows the way out; what is drawn is in already
        frame.moves.clear();
    // The paint stroke says that a final torque was logged. Nothing is logged here.
    frame.painted.clear();
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
    frame.layout = window.frame.layout;
    place_labels(session.stage, {}, frame);
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
    list->AddRect({box.x, box.y}, {box.right(), box.bottom()}, packed(window.ui.theme.panel_edge), 3, 0,
                  window.ui.sizes.line);
}

// ---------------------------------------------------------------------------------------------------------------------
// a frame

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

void draw_panels(Window& window, float width, float height) {
    Ui& ui = window.ui;
    View& view = window.view;
    Desk& desk = window.desk;
    const float margin = std::max(8.0F, ui.sizes.gap);
    const Box all{margin, margin, width - 2 * margin, height - 2 * margin};
    if (view.opening) {
        window.layout = {};
        draw_opening(ui, view, all);
        return;
    }
    if (!view.session || !view.error.empty() || view.choosing) {
        window.layout = {};
        draw_welcome(ui, view, desk, all);
        return;
    }
    if (!view.start_read) {
        Layout layout;
        // Who confirms it stands at the screen: where the card's letters are for 3 m, these are for the hand.
        const bool near_words = lay_out(width, height, ui.sizes, false, false).shape == Shape::words;
        const float em = (near_words ? window.near_sizes : ui.sizes).text;
        // Cautions are read: the card is wide. On the round it is the drawing that is looked at.
        const float card = std::min(all.w, em * (on_tour(view) != nullptr ? 22 : 40));
        layout.card = {all.right() - card, all.y, card, all.h};
        layout.drawing = {all.x, all.y, all.w - card - margin, all.h};
        if (layout.drawing.w < em * 14) {
            layout.card = all;
            layout.drawing = {};
        }
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
    window.layout =
        lay_out(width, height, ui.sizes, view.panel != Panel::none, view.drawing_asked, tool_widths(ui, view));
    const Layout& layout = window.layout;
    desk.shape = layout.shape;
    draw_top(ui, view, desk, layout);
    if (!layout.drawing.empty())
        draw_drawing(window, layout.drawing);
    draw_tools(ui, view, layout);
    if (layout.shape == Shape::words && !layout.panel.empty()) {
        as_near(window, [&] { draw_panel(ui, view, desk, layout.panel, layout); });
    } else {
        draw_panel(ui, view, desk, layout.panel, layout);
    }
    draw_card(ui, view, desk, layout.card);
    draw_last_row(ui, view, desk, layout);
}

void draw_frame(Window& window) {
    Ui& ui = window.ui;
    int width = 0, height = 0, w = 0, h = 0;
    glfwGetFramebufferSize(window.handle, &width, &height);
    glfwGetWindowSize(window.handle, &w, &h);
    if (width <= 0 || height <= 0 || w <= 0 || h <= 0)
        return; // minimised
    window.density = float(width) / float(w);
    fit_letters(window);
    ui.theme = theme_of(window.view.night);

    ImGui_ImplOpenGL3_NewFrame();
    ImGui_ImplGlfw_NewFrame();
    ImGui::NewFrame();
    ui.begin_frame();
    ImGui::SetNextWindowPos({0, 0});
    ImGui::SetNextWindowSize({float(w), float(h)});
    ImGui::Begin("boltwalk", nullptr,
                 ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoNav |
                     ImGuiWindowFlags_NoBackground | ImGuiWindowFlags_NoBringToFrontOnFocus |
                     ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoScrollWithMouse);
    draw_panels(window, float(w), float(h));
    ImGui::End();
    ui.end_frame();
    ImGui::Render();

    const Colour& ground = ui.theme.paper;
    glBindFramebuffer(GL_FRAMEBUFFER, 0);
    glViewport(0, 0, width, height);
    glClearColor(float(ground.r) / 255, float(ground.g) / 255, float(ground.b) / 255, 1);
    glClear(GL_COLOR_BUFFER_BIT);
    ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
    glfwSwapBuffers(window.handle);
    ++window.seen.frames;
    if (!window.seen.path.empty())
        write_seen(window.seen, ui, window.view, window.desk, window.layout, float(w), float(h));
}

/// Uploads a session that was opened since, and names it in the window's title.
void take_session(Window& window) {
    View& view = window.view;
    if (window.session_loaded == view.sessions || !view.session)
        return;
    window.session_loaded = view.sessions;
    window.desk.card = {};
    window.desk.start = {};
    for (Scroll& scroll : window.desk.panel)
        scroll = {};
    window.desk.open_finding = -1;
    window.desk.shown_step = SIZE_MAX;
    // Where a panel would take the drawing's place, the drawing comes first.
    int w = 0, h = 0;
    glfwGetWindowSize(window.handle, &w, &h);
    if (lay_out(float(w), float(h), window.ui.sizes, false, false).shape != Shape::wide)
        view.panel = Panel::none;
    window.drawing_error = window.canvas.load(view.session->stage);
    window.seen.loaded_s = now_s();
    const std::string& job = view.session->map.job;
    glfwSetWindowTitle(window.handle, (job.empty() ? "Boltwalk" : job + " - Boltwalk").c_str());
}

void run_frames(Window& window) {
    View& view = window.view;
    double last = now_s();
    while (glfwWindowShouldClose(window.handle) == GLFW_FALSE) {
        const bool busy = is_moving(view) || window.settle > 0;
        if (busy || view.opening) {
            const double rest = FRAME_SECONDS - (now_s() - last);
            // An opening map wakes the window by itself; it is looked at now and then all the same.
            if (rest > 0 || !busy)
                glfwWaitEventsTimeout(busy ? rest : 0.1);
            else
                glfwPollEvents();
        } else {
            glfwWaitEvents();
        }
        const double now = now_s();
        const bool moving = is_moving(view);
        if (take_opened(view))
            window.settle = SETTLE_FRAMES;
        take_session(window);
        if (const int news = view.study ? view.study->news() : 0; news != window.study_news) {
            window.study_news = news;
            window.settle = std::max(window.settle, 2); // rows that become longer settle at the second
        }
        if (moving && view.session)
            advance(view, std::min(now - last, busy ? LONGEST_FRAME_SECONDS : FRAME_SECONDS));
        last = now;
        if (moving || view.opening)
            window.settle = std::max(window.settle, SETTLE_FRAMES);
        if (window.settle > 0) {
            --window.settle;
            draw_frame(window);
            if (input_waits())
                window.settle = std::max(window.settle, 1);
        }
    }
}

} // namespace

int run_window(const WindowOptions& options) {
    std::string reason;
    glfwSetErrorCallback([](int, const char*) {});
    if (glfwInit() == GLFW_FALSE) {
        const char* text = nullptr;
        glfwGetError(&text);
        std::fprintf(
            stderr, "boltwalk view: no window could be opened: %s. Without a screen: boltwalk picture, check, order.\n",
            text == nullptr ? "no screen" : text);
        return 2;
    }
    // The drawing is antialiased in a framebuffer of its own, and Dear ImGui smooths its own edges: the window's
    // framebuffer needs no samples, and opens sooner without them.
    glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
    glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 3);
    glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
    glfwWindowHint(GLFW_OPENGL_FORWARD_COMPAT, GLFW_TRUE);
    Window window;
    window.handle = glfwCreateWindow(options.width, options.height, "Boltwalk", nullptr, nullptr);
    if (window.handle == nullptr) {
        const char* text = nullptr;
        glfwGetError(&text);
        std::fprintf(stderr,
                     "boltwalk view: no window with OpenGL 3.3 could be opened: %s. Without it: boltwalk picture, "
                     "check, order.\n",
                     text == nullptr ? "the display refuses" : text);
        glfwTerminate();
        return 2;
    }
    glfwMakeContextCurrent(window.handle);
    glfwSetWindowUserPointer(window.handle, &window);
    window.view.night = options.night;
    window.view.reach = options.reach;
    window.seen.path = options.report;
    first_picture(window);
    window.desk.screen = measure_screen();
    window.ui.sizes = sizes_for(options.reach, window.desk.screen);

    on_opening_progress([] { glfwPostEmptyEvent(); });
    // The drawing's size before it was ever drawn: cameras are worked out for it while the map opens.
    const Box drawing = lay_out(float(options.width), float(options.height), window.ui.sizes, true, true).drawing;
    if (!drawing.empty())
        window.view.drawing_px = {double(drawing.w), double(drawing.h)};
    if (!options.path.empty())
        open(window.view, options.path);
    glfwSwapInterval(1);
    listen(window.handle);
    IMGUI_CHECKVERSION();
    ImGui::CreateContext();
    ImGuiIO& io = ImGui::GetIO();
    io.IniFilename = nullptr;
    io.LogFilename = nullptr;
    io.ConfigInputTextCursorBlink = false; // nothing moves by itself: the window sleeps
    ImGui_ImplGlfw_InitForOpenGL(window.handle, true);
    ImGui_ImplOpenGL3_Init("#version 330 core");
    run_frames(window);

    window.view.opening.reset();
    window.view.study.reset();
    on_opening_progress(nullptr);
    window.canvas.close();
    ImGui_ImplOpenGL3_Shutdown();
    ImGui_ImplGlfw_Shutdown();
    ImGui::DestroyContext();
    glfwDestroyWindow(window.handle);
    glfwTerminate();
    return 0;
}

} // namespace boltwalk

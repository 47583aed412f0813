// The desktop's window: GLFW gives the surface and what the person does; it sleeps while nothing changes.
#include "viewer/panels/window.hpp"

#include "viewer/draw/gl.hpp"
#define GLFW_INCLUDE_NONE
#include <backends/imgui_impl_glfw.h>
#include <backends/imgui_impl_opengl3.h>
#include <GLFW/glfw3.h>
#include <imgui.h>
#if IMGUI_VERSION_NUM >= 18700
#include <imgui_internal.h> // how many events it still keeps back
#endif

#include <algorithm>
#include <cstdio>
#include <utility>

#include "viewer/panels/bookmark.hpp"
#include "viewer/panels/frames.hpp"
#include "viewer/panels/keys.hpp"
#include "viewer/panels/remembered.hpp"

namespace boltwalk {

namespace {

/// From 1.87 on Dear ImGui takes one change of a key or button a frame and keeps the rest for the next. A window that
/// sleeps would leave them lying until something else happens.
bool input_waits() {
#if IMGUI_VERSION_NUM >= 18700
    return ImGui::GetCurrentContext()->InputEventsQueue.Size > 0;
#else
    return false;
#endif
}

#if IMGUI_VERSION_NUM < 18700
/// Before 1.87 Dear ImGui looks at keys once a frame, and does not see one that went down and up between two of them.
/// For the frame that comes, such a one is still down, and so is what was held with it.
class StillDown {
public:
    explicit StillDown(std::vector<ShortPress>& presses) {
        ImGuiIO& io = ImGui::GetIO();
        was_[0] = io.KeyCtrl;
        was_[1] = io.KeyShift;
        was_[2] = io.KeyAlt;
        for (const ShortPress& press : std::exchange(presses, {})) {
            if (press.key < 0 || press.key >= IM_ARRAYSIZE(io.KeysDown) || io.KeysDown[press.key])
                continue;
            io.KeysDown[press.key] = true;
            keys_.push_back(press.key);
            io.KeyCtrl = io.KeyCtrl || (press.mods & GLFW_MOD_CONTROL) != 0;
            io.KeyShift = io.KeyShift || (press.mods & GLFW_MOD_SHIFT) != 0;
            io.KeyAlt = io.KeyAlt || (press.mods & GLFW_MOD_ALT) != 0;
        }
    }
    ~StillDown() {
        ImGuiIO& io = ImGui::GetIO();
        for (const int key : keys_)
            io.KeysDown[key] = false;
        io.KeyCtrl = was_[0];
        io.KeyShift = was_[1];
        io.KeyAlt = was_[2];
    }
    StillDown(const StillDown&) = delete;
    StillDown& operator=(const StillDown&) = delete;

private:
    std::vector<int> keys_;
    bool was_[3];
};
#else
struct StillDown { // it keeps every change of a key for a frame of its own
    explicit StillDown(const std::vector<ShortPress>&) {}
};
#endif

constexpr double LOG_SECONDS = 2; // how often what other windows enter is looked for

Surface surface_of(GLFWwindow* handle) {
    Surface surface;
    int width = 0, height = 0;
    glfwGetFramebufferSize(handle, &surface.width_px, &surface.height_px);
    glfwGetWindowSize(handle, &width, &height);
    surface.width = float(width);
    surface.height = float(height);
    return surface;
}

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
#if IMGUI_VERSION_NUM < 18700
        if (action == GLFW_PRESS)
            window_of(w).short_presses.push_back({key, mods});
#endif
        if (action == GLFW_RELEASE)
            return;
        ++window.seen.keys_taken;
        press_key(window.ui, window.view, window.desk, key, mods, window.desk.field_active, action == GLFW_REPEAT);
    });
    glfwSetCharCallback(handle, [](GLFWwindow* w, unsigned) { wake_up(w); });
    glfwSetCursorPosCallback(handle, [](GLFWwindow* w, double, double) { wake_up(w); });
    glfwSetCursorEnterCallback(handle, [](GLFWwindow* w, int) { wake_up(w); });
    glfwSetMouseButtonCallback(handle, [](GLFWwindow* w, int, int action, int) {
        wake_up(w);
        if (action == GLFW_RELEASE)
            ++window_of(w).seen.buttons_taken;
    });
    glfwSetScrollCallback(handle, [](GLFWwindow* w, double, double) {
        wake_up(w);
        ++window_of(w).seen.buttons_taken; // X's buttons 4 and 5
    });
    glfwSetFramebufferSizeCallback(handle, [](GLFWwindow* w, int, int) { wake_up(w); });
    glfwSetWindowFocusCallback(handle, [](GLFWwindow* w, int) { wake_up(w); });
    glfwSetWindowRefreshCallback(handle, [](GLFWwindow* w) { wake_up(w); });
    glfwSetDropCallback(handle, [](GLFWwindow* w, int count, const char** paths) {
        wake_up(w);
        if (count > 0)
            take_dropped(window_of(w).view, {paths, paths + count});
    });
}

/// The first picture, before letters and shaders exist: the ground. Nothing but one whole clear: Mesa's software
/// renderer compiles a shader even for a clear of a part.
void first_picture(GLFWwindow* handle, Window& window) {
    const Colour& ground = theme_of(window.view.night).paper;
    glClearColor(float(ground.r) / 255, float(ground.g) / 255, float(ground.b) / 255, 1);
    glClear(GL_COLOR_BUFFER_BIT);
    glfwSwapBuffers(handle);
    glFinish();
    window.seen.first_swap_s = now_s();
}

/// What is known of the screen, and where the person's settings for it are kept.
struct Known {
    Screen screen;
    std::string key, path, settings;
};

Known measure_screen() {
    Known known;
    GLFWmonitor* monitor = glfwGetPrimaryMonitor();
    const GLFWvidmode* mode = monitor == nullptr ? nullptr : glfwGetVideoMode(monitor);
    if (mode == nullptr)
        return known;
    int width_mm = 0, height_mm = 0;
    glfwGetMonitorPhysicalSize(monitor, &width_mm, &height_mm);
    known.screen = screen_of(mode->width, mode->height, width_mm, height_mm);
    known.key = screen_key(mode->width, mode->height, width_mm, height_mm);
    known.path = remembered_path();
    return known;
}

/// As the screen had it last; what the command line states goes before, and is not remembered by itself.
void take_remembered(Window& window, Known& known, const WindowOptions& options) {
    View& view = window.view;
    Desk& desk = window.desk;
    desk.screen = known.screen;
    take_settings(view, desk.screen, desk.screen_changed, remembered(known.path, known.key));
    view.night = options.night.value_or(view.night);
    view.reach = options.reach.value_or(view.reach);
    view.unit = options.unit.value_or(view.unit);
    known.settings = settings_of(view, desk.screen, desk.screen_changed);
    window.ui.sizes = sizes_for(view.reach, desk.screen);
}

void remember_settings(const Window& window, Known& known) {
    std::string now = settings_of(window.view, window.desk.screen, window.desk.screen_changed);
    if (known.key.empty() || now == known.settings)
        return;
    remember(known.path, known.key, now); // where that cannot be, the next start is like the first
    known.settings = std::move(now);
}

void show_frame(GLFWwindow* handle, Window& window) {
    const Surface surface = surface_of(handle);
    if (surface.empty())
        return; // minimised
    window.density = float(surface.width_px) / surface.width;
    fit_letters(window);
    ImGui_ImplOpenGL3_NewFrame();
    ImGui_ImplGlfw_NewFrame();
    {
        const StillDown still_down(window.short_presses);
        draw_frame(window, surface);
    }
    glfwSwapBuffers(handle);
    ++window.seen.frames;
    window.seen.settling = window.settle > 0 || input_waits();
    if (!window.seen.path.empty())
        write_seen(window.seen, window.ui, window.view, window.desk, window.layout, surface.width, surface.height);
}

void run_frames(GLFWwindow* handle, Window& window, Known& known, bool mark) {
    View& view = window.view;
    double last = now_s(), looked = last;
    while (glfwWindowShouldClose(handle) == GLFW_FALSE) {
        const bool busy = is_moving(view) || window.settle > 0;
        if (busy || view.opening) {
            const double rest = FRAME_SECONDS - (now_s() - last);
            // An opening map wakes the window by itself; it is looked at now and then all the same.
            if (rest > 0 || !busy)
                glfwWaitEventsTimeout(busy ? rest : 0.1);
            else
                glfwPollEvents();
        } else if (view.keeper) {
            glfwWaitEventsTimeout(LOG_SECONDS);
        } else {
            glfwWaitEvents();
        }
        const double now = now_s();
        const bool moving = is_moving(view);
        if (!view.to_open.empty())
            open(view, std::exchange(view.to_open, {}));
        if (take_opened(view))
            window.settle = SETTLE_FRAMES;
        if (take_session(window, surface_of(handle))) {
            const std::string& job = view.session->map.job;
            glfwSetWindowTitle(handle, (job.empty() ? "Boltwalk" : job + " - Boltwalk").c_str());
            if (std::exchange(mark, false))
                enter_marking(view);
        }
        take_news(window);
        if (view.keeper && now - looked > LOG_SECONDS * 0.9) { // another window may have added something
            looked = now;
            if (look_into_log(view))
                window.settle = SETTLE_FRAMES;
        }
        if (moving && view.session)
            advance(view, std::min(now - last, busy ? LONGEST_FRAME_SECONDS : FRAME_SECONDS));
        last = now;
        if (moving || view.opening)
            window.settle = std::max(window.settle, SETTLE_FRAMES);
        if (window.settle > 0) {
            if (--window.settle == 0) // before the frame that says that nothing moves any more
                remember_settings(window, known);
            show_frame(handle, window);
            if (input_waits())
                window.settle = std::max(window.settle, 1);
        }
    }
}

} // namespace

void show_letters() {
    ImGui_ImplOpenGL3_DestroyFontsTexture();
    ImGui_ImplOpenGL3_CreateFontsTexture();
}

void show_imgui(const Surface&) {
    ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
}

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
    GLFWwindow* const handle = glfwCreateWindow(options.width, options.height, "Boltwalk", nullptr, nullptr);
    if (handle == nullptr) {
        const char* text = nullptr;
        glfwGetError(&text);
        std::fprintf(stderr,
                     "boltwalk view: no window with OpenGL 3.3 could be opened: %s. Without it: boltwalk picture, "
                     "check, order.\n",
                     text == nullptr ? "the display refuses" : text);
        glfwTerminate();
        return 2;
    }
    glfwMakeContextCurrent(handle);
    glfwSetWindowUserPointer(handle, &window);
    Known known = measure_screen();
    take_remembered(window, known, options);
    window.view.wrenches = options.wrenches;
    window.view.keeper_for = keep_beside;
    if (options.hand_over)
        window.view.hand_over = options.hand_over();
    window.desk.press.gap_s = options.press_gap_s;
    window.seen.path = options.report;
    first_picture(handle, window);

    on_opening_progress([] { glfwPostEmptyEvent(); });
    // The drawing's size before it was ever drawn: cameras are worked out for it while the map opens.
    const Box drawing = first_drawing(float(options.width), float(options.height), window.ui.sizes);
    if (!drawing.empty())
        window.view.drawing_px = {double(drawing.w), double(drawing.h)};
    if (!options.path.empty())
        open(window.view, options.path);
    glfwSwapInterval(1);
    listen(handle);
    start_imgui();
    ImGui_ImplGlfw_InitForOpenGL(handle, true);
    ImGui_ImplOpenGL3_Init("#version 330 core");
    run_frames(handle, window, known, options.mark);

    window.view.opening.reset();
    window.mark_room.reset();
    window.view.marking.reset();
    window.view.study.reset();
    window.view.keeper.reset();
    on_opening_progress(nullptr);
    window.prints.close();
    window.canvas.close();
    ImGui_ImplOpenGL3_Shutdown();
    ImGui_ImplGlfw_Shutdown();
    ImGui::DestroyContext();
    glfwDestroyWindow(handle);
    glfwTerminate();
    return 0;
}

} // namespace boltwalk

// The page's side in C++: what page.js calls, and what it is asked for. One canvas, one thread; page.js calls frame()
// when the browser paints and something is to be drawn, never else.
#include <emscripten.h>
#include <emscripten/html5.h>
#include <imgui.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "viewer/panels/bookmark.hpp"
#include "viewer/panels/frames.hpp"
#include "viewer/panels/keys.hpp"
#include "viewer/panels/marking.hpp"
#include "viewer/panels/touch.hpp"
#include "viewer/panels/walk.hpp"
#include "viewer/web/field.hpp"
#include "viewer/web/keeper_browser.hpp"
#include "viewer/web/show.hpp"
#include "viewer/web/study_bytes.hpp"

// clang-format off
EM_JS(void, page_save, (const char* walk, const char* settings), { Module.page.save(UTF8ToString(walk), UTF8ToString(settings)); });
EM_JS(void, page_opened, (const char* title), { Module.page.opened(UTF8ToString(title)); });
EM_JS(void, page_work_out, (const char* room, int coming, int from), { Module.page.workOut(UTF8ToString(room), coming, from); });
EM_JS(void, page_stop_work, (), { Module.page.stopWork(); });
EM_JS(void, page_saved, (const char* path), { Module.page.savedMap(UTF8ToString(path)); });
EM_JS(void, page_open_saved, (const char* path), { Module.page.openSaved(UTF8ToString(path)); });
EM_JS(void, page_marked, (const char* path), { Module.page.marked(UTF8ToString(path)); });
EM_JS(void, page_wake, (), { Module.page.wake(); });
EM_JS(void, page_walking, (int on, int night), { Module.page.walking(on, night); });
// clang-format on

namespace boltwalk {

namespace {

struct Page {
    Window window;
    Surface surface;
    Touch touch;
    float wheel = 0;
    double last = 0;
    bool draws = false; ///< there is a GL context
    bool lost = false;  ///< and it was taken away
    std::string resume;
    std::string logs;     ///< put ready for the map that is coming (keeper_browser.hpp)
    bool resumes = false; ///< those two are there: looked for while it is read
    std::string saved_walk, saved_settings;
    bool walking = false, night = false;
    int opened = 0;                ///< sessions that the page was told of
    int saves = 0;                 ///< of the marking room: each is handed over as a download
    int keeps = 0;                 ///< of what lies beside its file: each goes into the browser's storage
    bool worker = false;           ///< the other instance is at work
    bool worker_due = false;       ///< it begins once the map that is coming was drawn: two at once would be later both
    std::vector<std::string> came; ///< from it, before the session that it is for was there
    std::string text;              ///< what was returned last
};

std::unique_ptr<Page> page;

void wake() {
    page->window.settle = SETTLE_FRAMES;
    page_wake();
}

/// Two fingers on the drawing: spread to come nearer, move to shift it, turn to walk round it.
void move_by_two(const TwoFingers& two) {
    View& view = page->window.view;
    const Box& box = page->window.layout.drawing;
    if (!two.any || !view.session || box.empty() || !box.holds(two.from_x, two.from_y))
        return;
    const glm::dvec2 px{double(box.w), double(box.h)};
    Camera camera = panned(camera_now(view), {double(two.dx), double(two.dy)}, px.y);
    camera = zoomed(camera, double(two.spread), {double(two.x - box.x), double(two.y - box.y)}, px);
    turn_by_hand(view, orbited(camera, -double(two.turn_deg), 0));
}

void feed_imgui(double seconds) {
    const Surface& surface = page->surface;
    const Pointing now = page->touch.next();
    ImGuiIO& io = ImGui::GetIO();
    io.DisplaySize = {surface.width, surface.height};
    io.DisplayFramebufferScale = {float(surface.width_px) / surface.width, float(surface.height_px) / surface.height};
    io.DeltaTime = float(std::max(seconds, 1e-4));
    const ImVec2 at = now.there ? ImVec2{now.x, now.y} : ImVec2{-FLT_MAX, -FLT_MAX};
#if IMGUI_VERSION_NUM >= 18700
    io.AddMousePosEvent(at.x, at.y);
    for (int i = 0; i < 3; ++i)
        io.AddMouseButtonEvent(i, now.down[i]);
    if (page->wheel != 0)
        io.AddMouseWheelEvent(0, page->wheel);
#else
    io.MousePos = at;
    std::copy_n(now.down, 3, io.MouseDown);
    io.MouseWheel = page->wheel;
#endif
    page->wheel = 0;
    move_by_two(now.two);
}

/// Tells the page what it has to keep, and nothing while something moves or is held. True when it changed.
bool save_when_at_rest() {
    const View& view = page->window.view;
    if (is_moving(view) || view.opening || ImGui::IsAnyMouseDown())
        return false;
    std::string walk = bookmark_of(view),
                settings = settings_of(view, page->window.desk.screen, page->window.desk.screen_changed);
    if (walk == page->saved_walk && settings == page->saved_settings)
        return false;
    page->saved_walk = std::move(walk);
    page->saved_settings = std::move(settings);
    page_save(page->saved_walk.c_str(), page->saved_settings.c_str());
    return true;
}

void tell_walking() {
    const View& view = page->window.view;
    if (page->walking == is_walking(view) && page->night == view.night)
        return;
    page->walking = is_walking(view);
    page->night = view.night;
    page_walking(page->walking, page->night);
}

void take_what_opened() {
    Window& window = page->window;
    // Who leaves the marking room has the same model uploaded again, and nothing was opened.
    if (!take_session(window, page->surface) ||
        std::exchange(page->opened, window.view.sessions) == window.view.sessions)
        return;
    page->saved_walk.clear();
    take_bookmark(window.view, page->resume);
    if (was_marking(page->resume))
        enter_marking(window.view);
    page->resume.clear();
    page_opened(window.view.session->map.job.c_str());
    for (const std::string& bytes : page->came)
        StudyBytes::take(bytes, *window.view.session, *window.view.study);
    page->came.clear();
}

/// The other instance works as long as there is something for it to do: it is stopped when the opening or the study
/// was, and starts again where the study goes on.
void mind_the_worker() {
    const View& view = page->window.view;
    const bool studying = !view.opening && view.study && !view.study->finished();
    const bool wanted = view.opening ? !view.opening->cancelled() : studying;
    if (page->worker && !wanted) {
        page_stop_work();
        page->worker = false;
    } else if (!page->worker && studying) {
        page->worker = true;
        page_work_out(text_of(view.session->room).c_str(), 0, view.study->parts_there());
    }
}

/// After a frame was drawn.
void begin_worker_if_due() {
    const View& view = page->window.view;
    if (!page->worker_due ||
        (view.opening && !view.opening->cancelled() && !(view.opening->waiting() && page->resumes)))
        return;
    page->worker_due = false;
    if (view.opening && !view.opening->cancelled())
        page_work_out(text_of(view.opening->room()).c_str(), 1, 0);
    else
        page->worker = false;
}

/// A page has no folder: what the marking room saved goes where the browser puts what it loads down.
void hand_over_saved() {
    const View& view = page->window.view;
    const int saves = view.marking ? view.marking->saves : 0;
    if (saves > page->saves)
        page_saved(view.marking->save_to.c_str());
    page->saves = saves;
}

/// What lies beside the file of a model being marked up outlives the page in the browser's storage.
void keep_marking() {
    const View& view = page->window.view;
    const int keeps = view.marking ? view.marking->keeps : 0;
    if (keeps > page->keeps)
        page_marked(autosave_path(view.marking->path).c_str());
    page->keeps = keeps;
}

/// While it waits for the other instance, each word from there wakes the page.
bool opening_goes_on() {
    const View& view = page->window.view;
    return view.opening && !view.opening->waiting();
}

void fit_page_letters() {
    page->window.density = float(page->surface.width_px) / page->surface.width;
    fit_letters(page->window);
}

const char* returned(std::string text) {
    page->text = std::move(text);
    return page->text.c_str();
}

} // namespace

} // namespace boltwalk

using namespace boltwalk;

extern "C" {

/// Before anything else. Nothing is drawn before page_draw().
EMSCRIPTEN_KEEPALIVE void page_start(const char* settings) {
    page = std::make_unique<Page>();
    page->window.view.reach = Distance::hand;
    page->window.view.keeper_for = [](const Map& map) { return keep_in_browser(map, page->logs); };
    take_settings(page->window.view, page->window.desk.screen, page->window.desk.screen_changed, settings);
    page->window.ui.sizes = sizes_for(page->window.view.reach, page->window.desk.screen);
    on_opening_progress(page_wake);
    start_imgui();
}

/// Takes the canvas. Null, or the sentence to show when that cannot be: then there are no frames.
EMSCRIPTEN_KEEPALIVE const char* page_draw() {
    EmscriptenWebGLContextAttributes attributes;
    emscripten_webgl_init_context_attributes(&attributes);
    attributes.majorVersion = 2;
    attributes.minorVersion = 0;
    // The drawing is antialiased in a framebuffer of its own.
    attributes.alpha = attributes.depth = attributes.stencil = attributes.antialias = EM_FALSE;
    attributes.enableExtensionsByDefault = EM_FALSE;
    const EMSCRIPTEN_WEBGL_CONTEXT_HANDLE context = emscripten_webgl_create_context("#surface", &attributes);
    if (context <= 0)
        return "This browser gives no WebGL 2 to draw with. A newer browser does, or this one with hardware drawing "
               "switched on in its settings.";
    emscripten_webgl_make_context_current(context);
    page->window.canvas.begin();
    const char* const refusal = start_showing();
    page->draws = refusal == nullptr;
    return refusal;
}

EMSCRIPTEN_KEEPALIVE void page_resize(float width, float height, int width_px, int height_px) {
    page->surface = {width, height, width_px, height_px};
    if (page->window.view.drawing_px.x <= 1) { // cameras are worked out for it while the map opens
        const Box drawing = first_drawing(width, height, page->window.ui.sizes);
        if (!drawing.empty())
            page->window.view.drawing_px = {double(drawing.w), double(drawing.h)};
    }
    wake();
}

/// It is read and looked at; further it goes with page_resume().
EMSCRIPTEN_KEEPALIVE void page_open(const char* path) {
    View& view = page->window.view;
    page->resumes = false;
    page->resume.clear();
    page->logs.clear();
    page->came.clear();
    page_stop_work(); // what it has still to say is of another map
    if (view.study && !view.study->finished())
        view.study->stop(); // the worker is the new map's. If that map does not open, this one's can go on.
    open(view, path);
    view.opening->wait_for_shapes();
    page->worker = page->worker_due = true;
    wake();
}

/// What a first frame waits for and that needs nothing to draw with: the map, if it is a small one, and the letters.
EMSCRIPTEN_KEEPALIVE void page_read_ahead() {
    Window& window = page->window;
    if (page->surface.empty())
        return;
    read_ahead(window.view);
    fit_page_letters();
}

/// For the map that is coming. `resume`: a bookmark, or empty. `logs`: for keep_in_browser().
EMSCRIPTEN_KEEPALIVE void page_resume(const char* resume, const char* logs) {
    page->resume = resume;
    page->logs = logs;
    page->resumes = true;
    wake();
}

/// A picture that the person chose or took lies there; it belongs to what is picked in the marking room.
EMSCRIPTEN_KEEPALIVE void page_photo(const char* path) {
    take_dropped(page->window.view, {path});
    wake();
}

/// A list of the person's tools lies there. `again`: it is the one that the browser kept, and nobody asked to see it.
/// 1: it was taken, else page_fail's place says why not.
EMSCRIPTEN_KEEPALIVE int page_tools(const char* path, int again) {
    View& view = page->window.view;
    const Panel panel = view.panel;
    const std::string error = view.error;
    const bool taken = take_tools(view, path);
    if (again != 0) {
        view.panel = panel;
        view.error = error;
    }
    wake();
    return taken ? 1 : 0;
}

EMSCRIPTEN_KEEPALIVE void page_fail(const char* what) {
    page->window.view.error = what;
    wake();
}

EMSCRIPTEN_KEEPALIVE void page_pointer(int kind, int tool, int id, float x, float y, float contact, int button) {
    page->touch.put({PointerEvent::Kind(kind), PointerEvent::Tool(tool), id, x, y, contact, button},
                    float(page->window.desk.screen.px_per_mm));
    wake();
}

EMSCRIPTEN_KEEPALIVE void page_wake_up() {
    wake();
}

EMSCRIPTEN_KEEPALIVE void page_wheel(float clicks) {
    page->wheel += clicks;
    wake();
}

/// GLFW's codes; `again`: held down, it repeats itself. 1 when the key did something.
EMSCRIPTEN_KEEPALIVE int page_key(int key, int mods, int again) {
    Window& window = page->window;
    wake();
    ImGui::GetIO().KeyShift = (mods & 1) != 0;
    return press_key(window.ui, window.view, window.desk, key, mods, window.desk.field_active, again != 0) ? 1 : 0;
}

/// 1: draw another one. `now_s`: the browser's clock.
EMSCRIPTEN_KEEPALIVE int page_frame(double now) {
    Window& window = page->window;
    View& view = window.view;
    if (!page->draws || page->lost || page->surface.empty())
        return 0;
    const double passed = std::clamp(now - page->last, 0.0, LONGEST_FRAME_SECONDS);
    const bool moving = is_moving(view);
    page->last = now;
    window.settle = std::max(0, window.settle - 1);
    if (take_opened(view))
        window.settle = SETTLE_FRAMES;
    fit_page_letters();
    if (!has_letters()) // what Dear ImGui begins before has no texture, and is drawn black
        show_letters();
    take_what_opened();
    mind_the_worker();
    take_news(window);
    if (moving && view.session)
        advance(view, passed);
    feed_imgui(passed);
    draw_frame(window, page->surface);
    ++window.seen.frames;
    begin_worker_if_due();
    close_field_if_gone();
    const bool changed = save_when_at_rest();
    tell_walking();
    hand_over_saved();
    keep_marking();
    if (!view.to_open.empty())
        page_open_saved(std::exchange(view.to_open, {}).c_str());
    // A list that has only just come up is measured first, and then turned to the step that it should show.
    if (changed)
        window.settle = SETTLE_FRAMES + 2;
    else if (is_moving(view) || opening_goes_on())
        window.settle = std::max(window.settle, SETTLE_FRAMES);
    window.seen.settling = window.settle > 0 || page->touch.waits();
    return window.seen.settling ? 1 : 0;
}

/// What was asked of the browser's storage is there, or is refused.
EMSCRIPTEN_KEEPALIVE void page_log_answer(int asked, const char* refusal) {
    View& view = page->window.view;
    if (!view.keeper || !take_browser_answer(*view.keeper, asked, refusal))
        return;
    take_stored(view);
    wake();
}

/// The log's file was exchanged for what another window has stored.
EMSCRIPTEN_KEEPALIVE void page_log_news() {
    look_into_log(page->window.view);
    wake();
}

/// How often the model was drawn.
EMSCRIPTEN_KEEPALIVE int page_drawings() {
    return int(page->window.seen.drawings);
}

/// The GL context went (everything in it with it), or is there again.
EMSCRIPTEN_KEEPALIVE void page_context(int there) {
    Window& window = page->window;
    page->lost = there == 0;
    if (page->lost)
        return;
    window.canvas.close();
    window.prints.close();
    window.previewed = nullptr;
    stop_showing();
    page->draws = start_showing() == nullptr;
    if (window.view.session)
        window.drawing_error = window.canvas.load(window.view.session->stage);
    wake();
}

/// What is on the screen, as JSON (viewer/panels/seen.hpp).
EMSCRIPTEN_KEEPALIVE const char* page_report() {
    const Window& window = page->window;
    return returned(seen_text(window.seen, window.ui, window.view, window.desk, window.layout, page->surface.width,
                              page->surface.height));
}

/// A piece of what the other instance worked out.
EMSCRIPTEN_KEEPALIVE void page_take(const char* bytes, int size) {
    View& view = page->window.view;
    std::string piece(bytes, std::size_t(size));
    if (StudyBytes::is_end(piece))
        page->worker = false;
    if (view.opening) {
        if (!StudyBytes::take(piece, *view.opening))
            page->came.push_back(std::move(piece));
    } else if (view.session && view.study) {
        StudyBytes::take(piece, *view.session, *view.study);
    }
    page_wake();
}

/// The other instance, in a worker: opens the same map and works out what the shapes say, handing each piece over as it
/// comes. Returns when there is no more.
EMSCRIPTEN_KEEPALIVE void work_out(const char* path, const char* room, int from) {
    work_out_beside(path, room, from);
}
}

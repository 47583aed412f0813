#include "viewer/panels/keys.hpp"

#include "viewer/panels/aloud.hpp"

#define GLFW_INCLUDE_NONE
#include <GLFW/glfw3.h>

#include <algorithm>

#include "viewer/panels/frames.hpp"
#include "viewer/panels/marking.hpp"

namespace boltwalk {

namespace {

constexpr double TURN_DEG = 15;
constexpr double MOVE_SHARE = 0.12; // of the drawing's height
constexpr double ZOOM = 1.25;

bool press_arrow(View& view, Desk& desk, int key, bool shift, bool ctrl, bool again) {
    const double x = key == GLFW_KEY_RIGHT ? 1 : key == GLFW_KEY_LEFT ? -1 : 0;
    const double y = key == GLFW_KEY_DOWN ? 1 : key == GLFW_KEY_UP ? -1 : 0;
    if (shift || ctrl) {
        if (!view.session)
            return false;
        const Camera camera = camera_now(view);
        const double by = MOVE_SHARE * view.drawing_px.y;
        turn_by_hand(view, shift ? orbited(camera, x * TURN_DEG, -y * TURN_DEG)
                                 : panned(camera, {-x * by, -y * by}, view.drawing_px.y));
        return true;
    }
    if (x > 0) {
        if (!again)
            do_main_action(view, desk);
    } else if (x < 0 && on_tour(view) != nullptr)
        tour_to(view, std::max(view.tour - 1, 0));
    else if (x < 0)
        step_back(view);
    else {
        Scroll& scroll = is_walking(view) ? desk.card : on_tour(view) != nullptr ? desk.tour : desk.start;
        const float to = scroll.at + float(y) * ImGui::GetFontSize() * 4;
        scroll.want = to < 0 ? 0 : to > scroll.most ? scroll.most : to;
    }
    return true;
}

void toggle_open(View& view, Desk& desk, Panel panel) {
    if (view.choosing || !view.error.empty() || view.opening)
        return;
    const bool any = is_walking(view) && (has_job(view) || panel == Panel::display || panel == Panel::help);
    if (any)
        open_panel(view, desk, panel);
}

void leave(Ui& ui, View& view) {
    if (view.session && (view.choosing || !view.error.empty())) {
        view.choosing = false;
        view.error.clear();
    } else if (on_tour(view) != nullptr) {
        tour_to(view, -1);
    } else if (view.picked) {
        unpick(view);
        if (view.panel == Panel::about)
            view.panel = has_job(view) ? Panel::steps : Panel::none;
    } else if (!ui.focus.empty()) {
        ui.focus.clear();
    } else if (view.panel != Panel::none) {
        view.panel = Panel::none;
    }
}

} // namespace

bool press_key(Ui& ui, View& view, Desk& desk, int key, int mods, bool typing, bool again) {
    const bool shift = (mods & GLFW_MOD_SHIFT) != 0, ctrl = (mods & GLFW_MOD_CONTROL) != 0;
    switch (key) {
    case GLFW_KEY_TAB:
        ui.keys.move = shift ? -1 : 1;
        if (typing)
            ImGui::SetWindowFocus(nullptr);
        return true;
    case GLFW_KEY_ESCAPE:
        if (typing)
            ImGui::SetWindowFocus(nullptr);
        else if (view.photo >= 0)
            view.photo = -1;
        else if (view.marking)
            step_out(*view.marking);
        else
            leave(ui, view);
        return true;
    case GLFW_KEY_F7:
        if (!view.marking)
            enter_marking(view);
        return true;
    case GLFW_KEY_F1:
        toggle_open(view, desk, Panel::help);
        return true;
    case GLFW_KEY_F2:
        toggle_open(view, desk, Panel::steps);
        return true;
    case GLFW_KEY_F3:
        toggle_open(view, desk, Panel::find);
        return true;
    case GLFW_KEY_F4:
        toggle_open(view, desk, Panel::findings);
        return true;
    case GLFW_KEY_F5:
        toggle_open(view, desk, Panel::about);
        return true;
    case GLFW_KEY_F6:
        toggle_open(view, desk, Panel::display);
        return true;
    default:
        break;
    }
    if (view.marking) {
        if (ctrl && (key == GLFW_KEY_Z || key == GLFW_KEY_Y)) {
            if (key == GLFW_KEY_Y || shift)
                redo(*view.marking);
            else
                undo(*view.marking);
            return true;
        }
        if (ctrl && key == GLFW_KEY_S) {
            save(*view.marking); // never over another's file: that takes the button
            return true;
        }
        if (key == GLFW_KEY_ENTER || key == GLFW_KEY_KP_ENTER)
            ui.keys.enter = !typing;
        return true;
    }
    if (key == GLFW_KEY_O && ctrl) {
        view.choosing = desk.field_asked = true;
        return true;
    }
    if (typing)
        return false;
    if (view.photo >= 0 && key != GLFW_KEY_ENTER && key != GLFW_KEY_KP_ENTER && key != GLFW_KEY_D) {
        view.photo = -1; // what lies under it is not in sight: the press that would act there only uncovers it
        return true;
    }
    const bool covered = view.choosing || !view.error.empty() || view.opening != nullptr;
    if (covered && key != GLFW_KEY_ENTER && key != GLFW_KEY_KP_ENTER && key != GLFW_KEY_D)
        return false;
    switch (key) {
    case GLFW_KEY_RIGHT:
    case GLFW_KEY_LEFT:
    case GLFW_KEY_UP:
    case GLFW_KEY_DOWN:
        return press_arrow(view, desk, key, shift, ctrl, again);
    case GLFW_KEY_PAGE_DOWN:
    case GLFW_KEY_SPACE:
        if (!again)
            do_main_action(view, desk);
        return true;
    case GLFW_KEY_PAGE_UP:
        step_back(view);
        return true;
    case GLFW_KEY_ENTER:
    case GLFW_KEY_KP_ENTER:
        ui.keys.enter = ui.keys.enter || !again;
        return true;
    default:
        break;
    }
    if (key == GLFW_KEY_D && !ctrl) {
        view.night = !view.night;
        return true;
    }
    if (ctrl || !is_walking(view))
        return false;
    if (key >= GLFW_KEY_1 && key <= GLFW_KEY_6) {
        look_from(view, PLACES[std::size_t(key - GLFW_KEY_1)].place);
        return true;
    }
    switch (key) {
    case GLFW_KEY_PERIOD:
        step_on(view);
        return true;
    case GLFW_KEY_U:
        undo(view);
        return true;
    case GLFW_KEY_T:
        toggle_open(view, desk, Panel::tray);
        return true;
    case GLFW_KEY_W:
        toggle_open(view, desk, Panel::untorqued);
        return true;
    case GLFW_KEY_J:
        toggle_open(view, desk, Panel::record);
        return true;
    case GLFW_KEY_I:
        toggle_open(view, desk, Panel::in_way);
        return true;
    case GLFW_KEY_HOME:
        go_to(view, 0);
        return true;
    case GLFW_KEY_END:
        go_to(view, steps_of(view));
        return true;
    case GLFW_KEY_R:
        if (has_job(view))
            take_way(view, !view.back);
        return true;
    case GLFW_KEY_N:
        pick_next(view, shift ? -1 : 1);
        return true;
    case GLFW_KEY_SLASH:
        toggle_open(view, desk, Panel::find);
        return true;
    case GLFW_KEY_H:
        toggle_open(view, desk, Panel::help);
        return true;
    case GLFW_KEY_F:
        look_at_all(view);
        return true;
    case GLFW_KEY_V:
        look_at_step(view);
        return true;
    case GLFW_KEY_E:
        explode_to(view, view.explode_wanted + (shift ? -0.25 : 0.25));
        return true;
    case GLFW_KEY_Z:
        lie(view, view.lying == Lying::as_seen        ? Lying::head_forward
                  : view.lying == Lying::head_forward ? Lying::head_rearward
                                                      : Lying::as_seen);
        return true;
    case GLFW_KEY_A:
        view.aloud = !view.aloud && no_voice().empty();
        return true;
    case GLFW_KEY_L:
        view.labels = !view.labels;
        return true;
    case GLFW_KEY_M:
        view.estimates = !view.estimates;
        return true;
    case GLFW_KEY_G:
        view.see_through = !view.see_through;
        return true;
    case GLFW_KEY_EQUAL:
    case GLFW_KEY_KP_ADD:
        turn_by_hand(view, zoomed(camera_now(view), ZOOM));
        return true;
    case GLFW_KEY_MINUS:
    case GLFW_KEY_KP_SUBTRACT:
        turn_by_hand(view, zoomed(camera_now(view), 1 / ZOOM));
        return true;
    default:
        return false;
    }
}

} // namespace boltwalk

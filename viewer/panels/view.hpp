// What the window shows, and what a person can do with it. No Dear ImGui and no OpenGL: the panels call these, the
// window draws what comes out.
//
// What is shown of the job is a plan and a place in it, and what the log says was done (walk.hpp); everything else is
// replayed from them.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/job/tightening.hpp"
#include "core/log/ledger.hpp"
#include "core/log/progress.hpp"
#include "viewer/panels/hand_over.hpp"
#include "viewer/panels/keeper.hpp"
#include "viewer/panels/layout.hpp"
#include "viewer/panels/measures.hpp"
#include "viewer/panels/session.hpp"
#include "viewer/panels/study.hpp"
#include "viewer/scene/scene.hpp"
#include "viewer/scene/steady.hpp"

namespace boltwalk {

enum class Panel {
    none,
    steps,
    about,
    findings,
    find,
    display,
    help,
    tray,
    untorqued,
    record,
    in_way,
    needed,
    hand_over
};
inline constexpr int PANELS = 12;
std::string_view title_of(Panel);

/// A camera on its way.
struct Flight {
    Camera from, to;
    double t = 1; ///< 1: arrived
};

/// What was done, as the log has it, and what follows from it for the walk.
struct Done {
    JobNow now;
    Progress out, back;   ///< of the two plans
    std::string last_key; ///< of the last entry in `now`
    int news = 0;         ///< grows whenever entries come or go
    bool resumed = false; ///< there were entries when the map was opened
    // worked out from `now`, once for all frames
    std::vector<Finding> open;   ///< what stands against closing
    std::vector<LastLook> looks; ///< once it is closed
    std::vector<Count> ledger;
    std::vector<Untorqued> untorqued;
    // said of the last thing that was entered
    std::string said;
    bool stored = false;               ///< it is on disk; else only in memory, or on its way
    std::vector<std::string> deviates; ///< what the rules say of it
    std::vector<std::string> against;  ///< what they say of the step shown, before it is entered
};

struct Marking;

struct View {
    /// The model is being marked up instead of walked through (marking.hpp); empty: it is not.
    std::shared_ptr<Marking> marking;
    std::set<std::string> written; ///< Marking::written of the rooms that were left
    std::string to_open;           ///< was saved there, and whoever owns the surface opens it; empty: nothing

    // opening
    std::unique_ptr<Opening> opening;
    std::string error;     ///< of the last file; empty: none
    bool choosing = false; ///< another file is asked for, over the one that is open
    std::string wanted;    ///< path typed by the person
    std::unique_ptr<Session> session;
    std::unique_ptr<Study> study; ///< of the session: goes before it
    /// Keeps the log of a map that was opened; empty: in memory only.
    std::function<std::unique_ptr<Keeper>(const Map&)> keeper_for;
    std::unique_ptr<Keeper> keeper; ///< of the session: goes before it; none where there is no job
    Done done;
    std::unique_ptr<HandOver> hand_over; ///< of the map that is open; none on a page
    std::string why, thing;              ///< being typed: why the job may be closed, what was in the way
    int sessions = 0;                    ///< opened so far: tells the window that what it uploaded is stale
    bool start_read = false;             ///< the start card was read: once an opening
    int tour = -1;                       ///< before the start: which of what is out of sight is shown; -1: none

    // place in the job
    bool back = false;  ///< the way back
    std::size_t at = 0; ///< steps done; the step shown is the next one. Steps in the plan: the end
    Shot shot;          ///< what that place looks like

    // motion: from one state to the present one
    State moved_from;
    double motion = 1; ///< 1: at rest
    Flight flight;
    SteadyLabels moving_labels; ///< how the drawing's labels stand
    double labels_s = 0;        ///< since they were last drawn
    bool by_hand = false;       ///< the person turned the drawing since the last step

    // picked
    ItemId picked;
    std::string scenery;         ///< a node of no item that was asked about; empty: none
    std::vector<ItemId> pointed; ///< shown with the picked one: a finding's other items
    std::string search;

    // how it is drawn
    double explode = 0, explode_wanted = 0;
    Lying lying = Lying::as_seen; ///< in pictures seen from under
    bool aloud = false;           ///< each step is read out
    bool labels = true, estimates = true, see_through = false, night = false;
    Distance reach = Distance::desk;
    TorqueUnit unit = TorqueUnit::newton_metre; ///< the person's
    std::optional<ToolBox> wrenches;            ///< the person's own, as a list states them; none: nobody said
    Panel panel = Panel::steps;
    std::int32_t photo = -1;     ///< of the map's, shown large; -1: none
    bool drawing_asked = false;  ///< `words` shape: the drawing in the card's place
    glm::dvec2 drawing_px{1, 1}; ///< size of the 3D view
};

const Plan& plan_of(const View&);
/// The state that is drawn at rest: on the way down what is still there, on the way back where the step's items go.
const State& drawn_state(const View&);
std::size_t steps_of(const View&);
bool at_end(const View&);
/// A step of the refit on something that is still off: a sensor goes over to the unit that lies on the bench.
bool at_bench(const View&);
/// The photographs of the step that is shown; a photograph shown large stays open only while it is one of them.
std::vector<std::int32_t> photos_shown(const View&);
/// Anything annotated at all?
bool has_job(const View&);
/// A map is open and its start card was read.
bool is_walking(const View&);
bool is_moving(const View&);
/// Estimates are missing: they are being worked out, or that was stopped.
bool is_studying(const View&);

void open(View&, const std::string& path);
/// What cameras are worked out for: the drawing, less what labels need round it.
Room room_of(const View&);
/// The person's tools, of which the torque wrenches are chosen from. False: view.error says what is wrong with the
/// list, and what was known before still is.
bool take_tools(View&, const std::string& path);
/// Files dropped on the window: pictures go to what is picked in the marking room, a text is a list of tools, anything
/// else is opened.
void take_dropped(View&, const std::vector<std::string>& paths);
/// Where there is one thread, and no frame to be held up yet: as much of the opening as a moment allows.
void read_ahead(View&);
/// Takes over what the opening thread made, once it is there. True when something changed.
bool take_opened(View&);

void go_to(View&, std::size_t at);
/// The same place anew, without moving: something was entered.
void show_again(View&);
void step_on(View&);
void step_back(View&);
void take_way(View&, bool back);

void pick_item(View&, ItemId);
void unpick(View&);
/// The next item of the step, in the order of its card: picking without a pointer.
void pick_next(View&, int by);
/// Goes where a node of that name is: picks its item, or shows the node. False: there is no such node.
bool go_to_node(View&, const std::string& name);

/// The round through what is out of sight, before the start. Null until it is worked out.
const std::vector<OutOfSight>* out_of_sight(const View&);
const OutOfSight* on_tour(const View&); ///< the one shown; null: not on the round
void tour_to(View&, int number);        ///< outside of the list: the round ends

/// What is drawn over the present picture: estimates, and what turns to glass.
Overlays overlays_now(const View&);

void look_at_all(View&);
void look_at_step(View&);
/// Of what is seen from under, from here on; the present picture too, if it is.
void lie(View&, Lying);
/// What is up in the picture, whether somebody asked for it or it lies so of itself; as_seen: it is not seen from
/// under, and asking for either changes nothing in it.
Lying lying_shown(const View&);
bool is_from_under(const View&); ///< the step is done from there
void look_from(View&, Place);
void look_at(View&, std::vector<ItemId> items);
void turn_by_hand(View&, const Camera&);
/// How everything is seen apart. Null until it is worked out: explode_to() then does nothing.
const Explosion* explosion(const View&);
void explode_to(View&, double share);

/// Moves what is moving on by so many seconds.
void advance(View&, double seconds);
std::vector<Pose> poses_now(const View&);
Camera camera_now(const View&);
/// What lies under that pixel of the drawing: of the step's fasteners first, since they are drawn through what covers
/// them.
ItemId item_under(const View&, glm::dvec2 px);
/// Of the step's fasteners alone; a mark counts as at least so large.
ItemId next_under(const View&, glm::dvec2 px, double least_px);
/// The name of the node of no item under that pixel; empty: an item, or nothing.
std::string scenery_under(const View&, glm::dvec2 px);
/// Torques from here on in that unit.
void take_unit(View&, TorqueUnit);

} // namespace boltwalk

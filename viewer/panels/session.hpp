// One opened map and all that follows from it, and the thread that opens it.
#pragma once

#include <atomic>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "core/job/tightening.hpp"
#include "core/map/map.hpp"
#include "viewer/scene/scene.hpp"
#include "viewer/scene/seen_from.hpp"

namespace boltwalk {

/// A web page has one thread. Whoever shows it does the pieces of an opening between its frames, and what takes longer
/// than a frame is worked out by a second instance of the program (viewer/web).
#ifdef __EMSCRIPTEN__
inline constexpr bool ONE_THREAD = true;
#else
inline constexpr bool ONE_THREAD = false;
#endif

/// Parts point into each other, so a session stays where it was made.
struct Session {
    Map map;
    Job job;
    Plan strip, refit;
    std::vector<StepCard> strip_cards, refit_cards; ///< by step
    std::vector<Finding> findings;
    std::vector<Tightening> turns; ///< all that the way back tightens, in its order
    std::vector<int> numbers;      ///< by item: what it is called where a step has several (core/job/step_numbers.hpp)
    Stage stage;
    Eyes eyes; ///< on a page they are the other instance's: here is solids.body_of, once anything is seen apart
    Room room; ///< that the views were made for
    std::vector<StepView> strip_views, refit_views; ///< by shot: index 0 as found

    Session() = default;
    Session(const Session&) = delete;
    Session& operator=(const Session&) = delete;
};

/// The state that a way begins in.
State start_of(const Session&, bool back);
/// The cameras of both ways, for session.room. What is cancelled (progress says false) stays without.
void find_views(Session&, const std::function<bool(float)>& progress);

/// Opens a file beside the drawing thread. Cancelled and waited for when it goes.
class Opening {
public:
    Opening(std::string path, const Room&); ///< `room`: of the drawing, about
    ~Opening();
    Opening(const Opening&) = delete;
    Opening& operator=(const Opening&) = delete;

    const std::string& path() const { return path_; }
    const Room& room() const { return room_; }
    float share() const { return share_; } ///< done, 0 to 1
    const char* doing() const { return doing_; }
    bool finished() const { return finished_; }
    void cancel() { cancelled_ = true; }
    bool cancelled() const { return cancelled_; }

    // once finished
    std::unique_ptr<Session> session; ///< none: see error
    std::string error;

    /// Does the next piece; false when there was none left. The opening's own thread calls it, if it has one.
    bool step();

    // Where somebody else asks the shapes (viewer/web), which takes longer than a frame: before the first step.
    void wait_for_shapes();
    void take_shapes(Estimates);
    void take_share(float); ///< how far the other's opening is
    /// Nobody else does it after all: the next step asks them itself.
    void ask_shapes_here() { waits_ = false; }
    bool waiting() const { return waits_ && piece_ == 1 && staged_; }
    /// While it waits: the map and its stage are there, and nothing else of it. Null before.
    const Session* so_far() const { return staged_ ? made_.get() : nullptr; }
    const std::optional<Estimates>& shapes() const { return shapes_; } ///< as soon as they were asked

private:
    template <typename OnTo>
    bool do_piece(const OnTo&);
    std::string path_;
    Room room_;
    std::unique_ptr<Session> made_; ///< so far
    std::optional<Estimates> shapes_;
    int piece_ = 0;
    bool waits_ = false;  ///< only without a thread of its own
    bool staged_ = false; ///< before its turn, while somebody else asks the shapes
    std::atomic<float> share_ = 0;
    std::atomic<const char*> doing_ = "";
    std::atomic<bool> finished_ = false, cancelled_ = false;
    std::thread thread_;
};

/// Called from the opening thread whenever share or state moved on: the window's wake-up.
void on_opening_progress(void (*wake)());
/// From any thread: something is there to be shown.
void wake_window();

} // namespace boltwalk

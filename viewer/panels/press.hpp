// One press, one step: a gloved finger, a worn switch or a pedal presses twice where once was meant, and a held key
// repeats itself. Plain logic.
//
//   takes()   may the main action act now?
//   acted()   it did
//   goes_down(), is_up()   a pointer's button: a press counts by when it was made, however late its release is seen
//   begins(), ends()   a frame; what the action led to is in sight when one that began after it has ended
//
// From then on a press counts only after a while: who has not seen the next step yet means the last one.
#pragma once

namespace boltwalk {

double now_s(); ///< the steady clock's

/// Common practice, no source: a second tap that belongs to the first comes sooner, one that is meant later.
inline constexpr double PRESS_GAP_SECONDS = 0.4;

class OnePress {
public:
    double gap_s = PRESS_GAP_SECONDS;
    long seen = 0; ///< presses of the main action so far, those that count for nothing too
    bool takes(double at_s) const { return !acted_ && !spent_ && at_s >= from_s_; }
    void acted() {
        acted_ = true;
        in_sight_soon_ = false;
    }
    void goes_down(double at_s) { spent_ = !takes(at_s); }
    void is_up() { spent_ = false; }
    void begins() { in_sight_soon_ = acted_; }
    void ends(double at_s) {
        if (!in_sight_soon_)
            return;
        acted_ = in_sight_soon_ = false;
        from_s_ = at_s + gap_s;
    }

private:
    bool acted_ = false, in_sight_soon_ = false, spent_ = false;
    double from_s_ = 0;
};

} // namespace boltwalk

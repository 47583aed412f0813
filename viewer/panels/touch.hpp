// Fingers, pens and a mouse, as a browser tells of them, made into what Dear ImGui and the drawing can take: one
// pointer whose button changes at most once a frame, and two fingers that move, spread and turn the drawing. Plain
// logic.
//
//   put()    an event as it comes; any number of them between two frames
//   next()   what holds for the next frame
//
// A contact as large as a palm is none, and a finger that grew into one is taken back. The second finger takes the
// first one's press back: no control is pressed by it. After that all must be lifted before one points again.
#pragma once

#include <deque>
#include <vector>

namespace boltwalk {

/// Pixels of the window.
struct PointerEvent {
    enum class Kind { down, move, up, cancel } kind = Kind::move;
    enum class Tool { mouse, finger, pen } tool = Tool::mouse;
    int id = 0;
    float x = 0, y = 0;
    float contact = 0; ///< the contact's larger side; 0: not known
    int button = 0;    ///< of a mouse, as Dear ImGui counts: left, right, middle
};

/// Two fingers since the last frame.
struct TwoFingers {
    bool any = false;
    float x = 0, y = 0;           ///< between them
    float from_x = 0, from_y = 0; ///< where that was when both were down
    float dx = 0, dy = 0;
    float spread = 1;   ///< factor
    float turn_deg = 0; ///< clockwise on the screen
};

struct Pointing {
    bool there = false; ///< no pointer: nothing is hovered
    float x = 0, y = 0;
    bool down[3] = {false, false, false};
    bool by_finger = false;
    TwoFingers two;
};

class Touch {
public:
    /// `px_per_mm`: of the screen, as far as it is known.
    void put(const PointerEvent&, float px_per_mm);
    Pointing next();
    bool waits() const { return !queue_.empty() || two_.any; } ///< something is left for another frame

private:
    struct Contact {
        int id = 0;
        float x = 0, y = 0, from_x = 0, from_y = 0;
        bool moved = false; ///< further than a tap's own trembling
    };
    void point(bool there, float x, float y, int button, bool down, bool by_finger);
    void take_back();
    void put_finger(const PointerEvent&, float px_per_mm);
    void begin_two();
    void move_two();

    std::vector<Contact> contacts_;
    bool two_fingers_ = false, spent_ = false; ///< spent: until all are lifted
    bool spreading_ = false, turning_ = false;
    float first_distance_ = 0, first_angle_ = 0, distance_ = 0, angle_ = 0, middle_x_ = 0, middle_y_ = 0;
    Pointing newest_, shown_;
    std::deque<Pointing> queue_;
    TwoFingers two_;
};

} // namespace boltwalk

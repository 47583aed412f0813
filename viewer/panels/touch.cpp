#include "viewer/panels/touch.hpp"

#include <algorithm>
#include <cmath>

namespace boltwalk {

namespace {
// Common practice, no source: a fingertip, gloved or not, leaves less than this, a palm's edge or a sleeve more.
constexpr float PALM_MM = 30;
constexpr float TREMBLE_MM = 2.5F; // a finger that moves less is not dragging
// What two fingers do by the way while they mean another thing.
constexpr float LEAST_SPREAD = 0.06F, LEAST_TURN_DEG = 9;
constexpr float DEG = 57.29578F;

float turned(float from, float to) {
    float by = to - from;
    while (by > 180)
        by -= 360;
    while (by < -180)
        by += 360;
    return by;
}
} // namespace

/// Changes of a button stand in the queue one by one; moves are only kept as the last of them.
void Touch::point(bool there, float x, float y, int button, bool down, bool by_finger) {
    newest_.there = there;
    newest_.x = x;
    newest_.y = y;
    newest_.by_finger = by_finger;
    const bool changes = button >= 0 && button < 3 && newest_.down[button] != down;
    if (changes)
        newest_.down[button] = down;
    if (!queue_.empty() && !changes) {
        const auto same = [&](const Pointing& other) { return std::equal(newest_.down, newest_.down + 3, other.down); };
        // A press stays where it was made, and so does a release.
        const Pointing* before = queue_.size() > 1 ? &queue_[queue_.size() - 2] : &shown_;
        if (same(queue_.back()) && same(*before) && queue_.back().there == there) {
            queue_.back() = newest_;
            return;
        }
    }
    queue_.push_back(newest_);
}

/// The pointer goes away first, and its button comes up where there is nothing.
void Touch::take_back() {
    point(false, newest_.x, newest_.y, -1, false, true);
    point(false, newest_.x, newest_.y, 0, false, true);
}

void Touch::begin_two() {
    take_back();
    const Contact &a = contacts_[0], &b = contacts_[1];
    two_fingers_ = spent_ = true;
    spreading_ = turning_ = false;
    first_distance_ = distance_ = std::max(1.0F, std::hypot(b.x - a.x, b.y - a.y));
    first_angle_ = angle_ = std::atan2(b.y - a.y, b.x - a.x) * DEG;
    middle_x_ = 0.5F * (a.x + b.x);
    middle_y_ = 0.5F * (a.y + b.y);
    two_ = {};
    two_.from_x = middle_x_;
    two_.from_y = middle_y_;
}

void Touch::move_two() {
    const Contact &a = contacts_[0], &b = contacts_[1];
    const float distance = std::max(1.0F, std::hypot(b.x - a.x, b.y - a.y));
    const float angle = std::atan2(b.y - a.y, b.x - a.x) * DEG;
    const float x = 0.5F * (a.x + b.x), y = 0.5F * (a.y + b.y);
    two_.any = true;
    two_.dx += x - middle_x_;
    two_.dy += y - middle_y_;
    two_.x = middle_x_ = x;
    two_.y = middle_y_ = y;
    if (!spreading_ && std::abs(distance / first_distance_ - 1) > LEAST_SPREAD) {
        spreading_ = true;
        distance_ = distance;
    }
    if (spreading_) {
        two_.spread *= distance / distance_;
        distance_ = distance;
    }
    if (!turning_ && std::abs(turned(first_angle_, angle)) > LEAST_TURN_DEG) {
        turning_ = true;
        angle_ = angle;
    }
    if (turning_) {
        two_.turn_deg += turned(angle_, angle);
        angle_ = angle;
    }
}

void Touch::put_finger(const PointerEvent& event, float px_per_mm) {
    const auto found =
        std::find_if(contacts_.begin(), contacts_.end(), [&](const Contact& one) { return one.id == event.id; });
    const bool palm = event.contact > PALM_MM * px_per_mm;
    using Kind = PointerEvent::Kind;
    if (event.kind == Kind::down) {
        if (found != contacts_.end() || palm || contacts_.size() >= 2 || (spent_ && !contacts_.empty()))
            return;
        contacts_.push_back({event.id, event.x, event.y, event.x, event.y, false});
        if (contacts_.size() == 2)
            begin_two();
        else
            point(true, event.x, event.y, 0, true, true);
        return;
    }
    if (found == contacts_.end())
        return;
    const bool ends = event.kind != Kind::move;
    if (!ends && !palm) {
        found->x = event.x;
        found->y = event.y;
        found->moved =
            found->moved || std::hypot(found->x - found->from_x, found->y - found->from_y) > TREMBLE_MM * px_per_mm;
        if (two_fingers_)
            move_two();
        else if (!spent_ && found->moved)
            point(true, event.x, event.y, -1, false, true);
        return;
    }
    if (!spent_) {
        if (event.kind == Kind::up && !palm) {
            point(true, found->moved ? event.x : found->from_x, found->moved ? event.y : found->from_y, 0, false, true);
            point(false, newest_.x, newest_.y, -1, false, true);
        } else {
            take_back();
            spent_ = true;
        }
    }
    contacts_.erase(found);
    two_fingers_ = false;
    if (contacts_.empty())
        spent_ = false;
}

void Touch::put(const PointerEvent& event, float px_per_mm) {
    using Kind = PointerEvent::Kind;
    if (event.tool != PointerEvent::Tool::mouse) {
        put_finger(event, px_per_mm);
        return;
    }
    if (event.kind == Kind::cancel)
        point(false, event.x, event.y, event.button, false, false);
    else
        point(true, event.x, event.y, event.kind == Kind::move ? -1 : event.button, event.kind == Kind::down, false);
}

Pointing Touch::next() {
    if (!queue_.empty()) {
        shown_ = queue_.front();
        queue_.pop_front();
    }
    Pointing result = shown_;
    result.two = two_;
    const float from_x = two_.from_x, from_y = two_.from_y;
    two_ = {};
    two_.from_x = from_x;
    two_.from_y = from_y;
    return result;
}

} // namespace boltwalk

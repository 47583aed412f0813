// What the shapes say about an opened map, worked out beside the window: results as they come, nothing ever waits.
#pragma once

#include <atomic>
#include <string>
#include <thread>
#include <vector>

#include "viewer/panels/session.hpp"
#include "viewer/scene/overlays.hpp"
#include "viewer/scene/seen_from.hpp"

namespace boltwalk {

/// Something that the shapes put in an item's way, while everything is as found.
struct InTheWay {
    ItemId by; ///< none: scenery
    std::string words;
};

/// Cancelled and waited for when it goes; the session must outlive it. What is not worked out (yet, or because it
/// failed or was cancelled) is null: the window is then as it was without.
class Study {
public:
    explicit Study(const Session&);
    ~Study();
    Study(const Study&) = delete;
    Study& operator=(const Study&) = delete;

    bool finished() const { return finished_; }
    const std::vector<OutOfSight>* out_of_sight() const { return done_ >= 1 ? &out_of_sight_ : nullptr; }
    /// By shot: index 0 as found.
    const std::vector<Overlays>* overlays(bool back) const {
        return done_ >= (back ? 3 : 2) ? (back ? &refit_ : &strip_) : nullptr;
    }
    /// By item.
    const std::vector<std::vector<InTheWay>>* in_the_way() const { return done_ >= 4 ? &in_the_way_ : nullptr; }

    void work(); ///< its own thread calls it, if it has one

private:
    friend struct StudyBytes; ///< viewer/web: results come from another instance of the program
    const Session& session_;
    std::vector<OutOfSight> out_of_sight_;
    std::vector<Overlays> strip_, refit_;
    std::vector<std::vector<InTheWay>> in_the_way_;
    std::atomic<int> done_ = 0; ///< so many of these are there, in this order
    std::atomic<bool> cancelled_ = false, finished_ = false;
    std::thread thread_;
};

} // namespace boltwalk

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

/// Stopped and waited for when it goes; the session must outlive it. What is not worked out (yet, or because it failed
/// or was stopped) is null: the window is then as it was without.
class Study {
public:
    static constexpr int parts = 5;
    explicit Study(const Session&);
    ~Study();
    Study(const Study&) = delete;
    Study& operator=(const Study&) = delete;

    bool finished() const { return finished_; } ///< nothing is being worked out
    bool whole() const { return done_ >= parts; }
    int parts_there() const { return done_; }
    float share() const { return share_; } ///< of the whole, 0 to 1
    const char* doing() const { return doing_; }
    /// Grows with every change that the window can show.
    int news() const { return news_; }
    /// Returns at once; finished() follows as soon as the work comes to look.
    void stop();
    bool stopping() const { return stopped_ && !finished_; }
    /// Goes on with what is not there (on a page: is then to be worked out again by the other instance). Only when
    /// finished() and not whole().
    void resume();

    const std::vector<OutOfSight>* out_of_sight() const { return done_ >= 1 ? &out_of_sight_ : nullptr; }
    const Explosion* explosion() const { return done_ >= 2 ? &explosion_ : nullptr; }
    /// By shot: index 0 as found.
    const std::vector<Overlays>* overlays(bool back) const {
        return done_ >= (back ? 4 : 3) ? (back ? &refit_ : &strip_) : nullptr;
    }
    /// By item.
    const std::vector<std::vector<InTheWay>>* in_the_way() const { return done_ >= 5 ? &in_the_way_ : nullptr; }

    void work(); ///< its own thread calls it, if it has one

private:
    friend struct StudyBytes; ///< viewer/web: results come from another instance of the program
    void start();
    void tell();
    void begin(int part);
    void find(int part, const Effort&);
    const Session& session_;
    std::vector<OutOfSight> out_of_sight_;
    Explosion explosion_;
    std::vector<Overlays> strip_, refit_;
    std::vector<std::vector<InTheWay>> in_the_way_;
    std::atomic<int> done_ = 0; ///< so many of these are there, in this order
    std::atomic<float> share_ = 0;
    std::atomic<int> news_ = 0;
    std::atomic<const char*> doing_ = "";
    std::atomic<bool> stopped_ = false, finished_ = false;
    std::thread thread_;
};

} // namespace boltwalk

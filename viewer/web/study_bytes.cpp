#include "viewer/web/study_bytes.hpp"

#include <emscripten.h>

#include <cstdio>
#include <cstring>
#include <type_traits>

#include <fmt/format.h>

// clang-format off
EM_JS(void, worker_hand_over, (const char* bytes, int size), { Module.handOver(HEAPU8.slice(bytes, bytes + size)); });
// clang-format on

namespace boltwalk {

namespace {

/// Writes or reads one value after the other; which of both is told by the type.
struct Writer {
    std::string bytes;
    void raw(const void* from, std::size_t size) { bytes.append(static_cast<const char*>(from), size); }
};
struct Reader {
    std::string_view bytes;
    bool good = true;
    void raw(void* into, std::size_t size) {
        good = good && bytes.size() >= size;
        if (!good)
            return;
        std::memcpy(into, bytes.data(), size);
        bytes.remove_prefix(size);
    }
};

template <typename Archive, typename T>
void each(Archive& archive, T& value) requires std::is_trivially_copyable_v<T> {
    archive.raw(&value, sizeof value);
}

template <typename Archive, typename List>
void each_of(Archive& archive, List& list) {
    std::uint32_t count = std::uint32_t(list.size());
    archive.raw(&count, sizeof count);
    if constexpr (std::is_same_v<Archive, Reader>) {
        // Every element takes a byte at least.
        archive.good = archive.good && count <= archive.bytes.size();
        list.resize(archive.good ? count : 0);
    }
    for (auto& one : list)
        each(archive, one);
}
template <typename Archive>
void each(Archive& archive, std::string& text) {
    each_of(archive, text);
}
template <typename Archive>
void each(Archive&, StepView&);
template <typename Archive>
void each(Archive&, OutOfSight&);
template <typename Archive>
void each(Archive&, Overlays&);
template <typename Archive>
void each(Archive&, Track&);
template <typename Archive>
void each(Archive&, ToolDrawn&);
template <typename Archive>
void each(Archive&, Note&);
template <typename Archive>
void each(Archive&, InTheWay&);
template <typename Archive, typename T>
void each(Archive& archive, std::vector<T>& list) {
    each_of(archive, list);
}

template <typename Archive, typename... Parts>
void all(Archive& archive, Parts&... parts) {
    (each(archive, parts), ...);
}

template <typename Archive>
void each(Archive& a, StepView& v) {
    all(a, v.found, v.camera, v.glass);
}
template <typename Archive>
void each(Archive& a, OutOfSight& o) {
    all(a, o.fastener, o.share, o.hidden_by, o.seen_after, o.view);
}
template <typename Archive>
void each(Archive& a, Overlays& o) {
    all(a, o.glass, o.tracks, o.tools, o.plumbs, o.notes);
}
template <typename Archive>
void each(Archive& a, Track& t) {
    all(a, t.part, t.points, t.estimated);
}
template <typename Archive>
void each(Archive& a, ToolDrawn& t) {
    all(a, t.fastener, t.rods, t.arc, t.pivot);
}
template <typename Archive>
void each(Archive& a, Note& n) {
    all(a, n.headline, n.detail, n.at);
}
template <typename Archive>
void each(Archive& a, InTheWay& i) {
    all(a, i.by, i.words);
}

// A field added to one of these has to go over too: then its size changes, and this says so.
static_assert(sizeof(Overlays) == 5 * sizeof(std::vector<int>));
static_assert(std::is_trivially_copyable_v<Camera> && std::is_trivially_copyable_v<Plumb>);

enum class Kind : std::uint8_t { out_of_sight, strip, refit, in_the_way, strip_views, refit_views, end };

template <typename T>
std::string piece(Kind kind, T value) {
    Writer writer;
    all(writer, kind, value);
    return writer.bytes;
}

template <typename T>
bool taken(Reader& reader, T& into) {
    T made;
    each(reader, made);
    if (reader.good)
        into = std::move(made);
    return reader.good;
}

void hand_over(const std::string& bytes) {
    worker_hand_over(bytes.data(), int(bytes.size()));
}

/// In the worker.
struct Beside {
    const Study* study = nullptr;
    int handed = 0;
} beside;

void hand_over_what_is_new() {
    if (beside.study == nullptr)
        return;
    const Study& study = *beside.study;
    if (beside.handed == 0 && study.out_of_sight() != nullptr && ++beside.handed)
        hand_over(StudyBytes::out_of_sight(study));
    if (beside.handed == 1 && study.overlays(false) != nullptr && ++beside.handed)
        hand_over(StudyBytes::overlays(study, false));
    if (beside.handed == 2 && study.overlays(true) != nullptr && ++beside.handed)
        hand_over(StudyBytes::overlays(study, true));
    if (beside.handed == 3 && study.in_the_way() != nullptr && ++beside.handed)
        hand_over(StudyBytes::in_the_way(study));
}

} // namespace

std::string text_of(const Room& room) {
    return fmt::format("{} {} {} {} {} {}", room.size_px.x, room.size_px.y, room.clear.x, room.clear.y,
                       room.clear.width, room.clear.height);
}

std::string StudyBytes::out_of_sight(const Study& study) {
    return piece(Kind::out_of_sight, study.out_of_sight_);
}
std::string StudyBytes::overlays(const Study& study, bool back) {
    return piece(back ? Kind::refit : Kind::strip, back ? study.refit_ : study.strip_);
}
std::string StudyBytes::in_the_way(const Study& study) {
    return piece(Kind::in_the_way, study.in_the_way_);
}
std::string StudyBytes::views(const Session& session, bool back) {
    return piece(back ? Kind::refit_views : Kind::strip_views, back ? session.refit_views : session.strip_views);
}
std::string StudyBytes::end() {
    Writer writer;
    Kind kind = Kind::end;
    each(writer, kind);
    return writer.bytes;
}

bool StudyBytes::take(std::string_view bytes, Session& session, Study& study) {
    Reader reader{bytes};
    Kind kind{};
    each(reader, kind);
    if (!reader.good)
        return false;
    const auto next = [&](int number, auto& into) {
        if (study.done_ != number || !taken(reader, into))
            return false;
        ++study.done_;
        return true;
    };
    switch (kind) {
    case Kind::out_of_sight:
        return next(0, study.out_of_sight_);
    case Kind::strip:
        return next(1, study.strip_);
    case Kind::refit:
        return next(2, study.refit_);
    case Kind::in_the_way:
        return next(3, study.in_the_way_);
    case Kind::strip_views:
        return taken(reader, session.strip_views);
    case Kind::refit_views:
        return taken(reader, session.refit_views);
    case Kind::end:
        study.finished_ = true;
        return true;
    }
    return false;
}

void work_out_beside(const char* path, const char* room_text) {
    Room room;
    std::sscanf(room_text, "%lf %lf %lf %lf %lf %lf", &room.size_px.x, &room.size_px.y, &room.clear.x, &room.clear.y,
                &room.clear.width, &room.clear.height);
    Opening opening(path, room);
    while (opening.step()) {
    }
    if (opening.session && !opening.session->map.items.empty()) {
        Session& session = *opening.session;
        find_views(session, {});
        hand_over(StudyBytes::views(session, false));
        hand_over(StudyBytes::views(session, true));
        Study study(session);
        beside = {&study, 0};
        on_opening_progress(hand_over_what_is_new);
        study.work();
        on_opening_progress(nullptr);
        beside = {};
    }
    hand_over(StudyBytes::end());
}

} // namespace boltwalk

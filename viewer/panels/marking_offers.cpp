// Values worth offering for a key, from the standards' tables, the shapes and the map.
#include <algorithm>
#include <map>

#include <fmt/format.h>

#include "viewer/panels/marking.hpp"

namespace boltwalk {

namespace {

/// The pitches that ISO 261 lists for a diameter, the coarse one first.
std::vector<std::string> threads_of(const std::string& size) {
    std::vector<std::string> list;
    if (read_thread(size))
        list.push_back(size);
    for (const char* pitch : {"3", "2", "1.75", "1.5", "1.25", "1", "0.75", "0.5"})
        if (const auto thread = read_thread(fmt::format("{}x{}", size, pitch));
            thread && thread->series == ThreadSeries::iso_fine)
            list.push_back(thread->name);
    return list;
}

} // namespace

std::vector<std::string> offers_for(const Marking& marking, KeyId id) {
    std::vector<std::string> offers;
    const auto offer = [&](std::string text) {
        if (!text.empty() && std::find(offers.begin(), offers.end(), text) == offers.end() && offers.size() < 24)
            offers.push_back(std::move(text));
    };
    const Proposal* proposal = marking.picked.empty() ? nullptr : proposal_of(marking, marking.picked.front());
    const std::string drive_text = value_of(marking, KeyId::drive);
    switch (id) {
    case KeyId::thread: {
        std::vector<SizeSold> sold = proposal != nullptr ? proposal->sold : std::vector<SizeSold>{};
        if (const auto drive = read_drive(drive_text); sold.empty() && drive)
            sold = sizes_sold_with(drive->kind, drive->size, value_of(marking, KeyId::fastener) == "castle_nut", 0.001);
        for (const SizeSold& one : sold)
            for (const std::string& thread : threads_of(one.size))
                offer(thread);
        break;
    }
    case KeyId::drive: {
        if (proposal != nullptr && proposal->drive)
            offer(proposal->drive->name);
        if (const auto thread = read_thread(value_of(marking, KeyId::thread)))
            for (const int size : {5, 6, 7, 8, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 21, 22, 24, 27, 30, 32, 36})
                for (const char* word : {"hex", "socket"})
                    if (const auto drive = read_drive(fmt::format("{} {}", word, size));
                        drive && is_sold(*thread, *drive, FastenerForm::bolt, "", nullptr) == Sold::listed)
                        offer(drive->name);
        break;
    }
    case KeyId::photo: // one picture may show several things
        for (const std::string& name :
             image_names({reinterpret_cast<const std::byte*>(marking.bytes.data()), marking.bytes.size()}))
            offer(name == photo_taken_out ? "" : name);
        break;
    case KeyId::length_mm:
        if (proposal != nullptr && proposal->shank_mm > 0)
            offer(print_number(proposal->length_mm, 1));
        break;
    case KeyId::grade:
        for (const char* grade : {"8.8", "10.9", "12.9", "4.6", "5.8", "8", "10"})
            offer(grade);
        break;
    case KeyId::needs:
    case KeyId::sets:
        for (const char* state : {"stands", "wheels down", "chocked", "brake on", "brake off", "in gear", "neutral",
                                  "battery off", "battery on"})
            offer(state);
        break;
    default:
        break;
    }
    for (const std::string_view word : choices_of(key_of(id)))
        offer(std::string(word));
    if (id == KeyId::holds && proposal != nullptr) {
        std::string holds;
        for (const std::int32_t node : proposal->holds)
            if (kind_of(marking, node) == MarkKind::part)
                holds += (holds.empty() ? "" : "; ") + marking.map.nodes[std::size_t(node)].name;
        offer(holds);
    }
    if (names_items(id) || id == KeyId::target)
        for (const Item& item : marking.map.items)
            if ((item.kind == ItemKind::part || id == KeyId::secures || id == KeyId::torque_after) &&
                (id == KeyId::opens || // a part may well open its own fluid space; else nothing names itself
                 std::find(marking.picked.begin(), marking.picked.end(), item.node) == marking.picked.end()))
                offer(item.name);
    const std::uint8_t yes_no[] = {std::uint8_t(KeyId::renew),    std::uint8_t(KeyId::own_place),
                                   std::uint8_t(KeyId::fixed),    std::uint8_t(KeyId::transfer),
                                   std::uint8_t(KeyId::flexible), std::uint8_t(KeyId::road_wheel),
                                   std::uint8_t(KeyId::gate)};
    if (std::find(std::begin(yes_no), std::end(yes_no), std::uint8_t(id)) != std::end(yes_no))
        offer("true");
    return offers;
}

std::string_view hint_of(KeyId id) {
    static const std::map<KeyId, std::string_view> hints{{KeyId::thread, "such as M10x1.25"},
                                                         {KeyId::length_mm, "such as 45"},
                                                         {KeyId::drive, "such as hex 14"},
                                                         {KeyId::torque, "such as 64 N·m"},
                                                         {KeyId::grade, "such as 10.9"},
                                                         {KeyId::holds, "such as pump; block"},
                                                         {KeyId::after, "such as skid_plate"},
                                                         {KeyId::step, "such as 3"},
                                                         {KeyId::people, "such as 2"},
                                                         {KeyId::needs, "such as neutral; stands"},
                                                         {KeyId::mass_kg, "such as 43"},
                                                         {KeyId::amount_l, "such as 1.2"},
                                                         {KeyId::way, "such as rear 40 mm; down 600 mm"},
                                                         {KeyId::lower, "such as 50 mm"},
                                                         {KeyId::axis, "such as +y"},
                                                         {KeyId::turns, "such as +z"},
                                                         {KeyId::stack, "such as 2"},
                                                         {KeyId::soak_min, "such as 15"},
                                                         {KeyId::passes, "such as 30 %; 60 %; 100 %"},
                                                         {KeyId::counter, "such as hex 17"},
                                                         {KeyId::joint, "such as mount_left"},
                                                         {KeyId::count, "such as 8"},
                                                         {KeyId::support, "such as jack; strap"},
                                                         {KeyId::fluid, "such as gear oil"},
                                                         {KeyId::part, "its title"},
                                                         {KeyId::task, "what to do"},
                                                         {KeyId::group, "its title"},
                                                         {KeyId::source, "such as manual, chapter 12"}};
    const auto it = hints.find(id);
    return it == hints.end() ? "not stated" : it->second;
}

} // namespace boltwalk

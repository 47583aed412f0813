// Hand tools: which ones there are in a box, and how large they are.
//
// A person states what they own in a plain text, one tool a line; home_box_text() is the list that is taken where none
// is stated, and a good example of the form. Lengths in millimetres, as on the tools. Every dimension's source stands
// beside it in tool_sizes.cpp: a standard or a handbook, "common practice, no source", or "from memory".
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include <tl/expected.hpp>

#include "core/standards/standards.hpp"

namespace boltwalk {

enum class ToolKind : std::uint8_t {
    socket,        ///< "socket 13": on a hexagon, by a ratchet, bar or torque wrench
    deep_socket,   ///< "deep socket 13": lets a stud's end into itself
    bit,           ///< "hexagon bit 6", "hexalobular bit 40", "square bit 10": a socket with a key in it
    extension,     ///< "extension 150": between socket and ratchet
    ratchet,       ///< "ratchet 250 mm"
    bar,           ///< "bar 600 mm": breaks loose, no ratchet in it
    torque_wrench, ///< "torque wrench 20..100 N·m"
    ring,          ///< "ring 17": the ring end of a spanner
    open,          ///< "open 17": the open end; "spanner 17" is both
    key,           ///< "hexagon key 6", "hexalobular key 40": bent, a short arm and a long one
    screwdriver,   ///< "screwdriver cross 2", "screwdriver slot 6"
    pliers,        ///< "pliers"
};

struct Tool {
    ToolKind kind = ToolKind::socket;
    Drive drive;          ///< what it grips; none for extension, ratchet, bar, torque wrench, pliers
    double square_mm = 0; ///< nominal square that it is driven by or drives: 6.3, 10, 12.5; 0: not stated, any
    double length_mm = 0; ///< of an extension, ratchet, bar or torque wrench
    double low_nm = 0;    ///< a torque wrench's range
    double high_nm = 0;
    int line = 0; ///< of the list
};

struct ToolBox {
    std::string name; ///< of the list, for people: "home box", or a file's name
    std::vector<Tool> tools;
};

/// Reads a list: one tool a line, "#" begins a comment, empty lines are skipped, capitals do not matter. Sizes are
/// millimetres, or inches ("socket 9/16 in"). "square 12.5" behind a socket, bit, extension, ratchet, bar or torque
/// wrench states its square (6.3, 10 or 12.5; also "1/4 in", "3/8 in", "1/2 in"). `name` stands in errors; an error
/// names list, line, what and the remedy, and is made printable by whoever shows it.
tl::expected<ToolBox, std::string> read_tools(std::string_view text, const std::string& name);

/// The same of the file that lies there; an error too where none does.
tl::expected<ToolBox, std::string> read_tools_of(const std::string& path);

/// The tools of an ordinary home box, as a list that read_tools reads: the one place where they are written down.
std::string_view home_box_text();
ToolBox home_box();

/// "socket 16", "ratchet 250 mm", "torque wrench 20..100 N·m".
std::string name_of(const Tool&);

// ---- dimensions, in millimetres

double socket_outside_mm(double flats_mm, double square_mm); ///< the larger of both ends
double socket_length_mm(double square_mm, bool deep);
double square_length_mm(double square_mm); ///< how far the driving square reaches into the socket
double bit_outside_mm(double square_mm);
double bit_length_mm(double square_mm); ///< with the key, without what of it is in the recess
double extension_outside_mm(double square_mm);
double ratchet_head_mm(double square_mm);   ///< diameter
double ratchet_height_mm(double square_mm); ///< without the square
double handle_width_mm(double square_mm);   ///< of a ratchet's, bar's or torque wrench's handle; it is as high as wide
double ratchet_length_mm(double square_mm); ///< of one whose length is not stated
double torque_wrench_length_mm(double high_nm);
double ring_outside_mm(double flats_mm);
double ring_height_mm(double flats_mm);
double open_width_mm(double flats_mm);
double open_height_mm(double flats_mm);
double spanner_length_mm(double flats_mm);
double spanner_width_mm(double flats_mm); ///< of the shank between the heads
double key_long_mm(const Drive&);
double key_short_mm(const Drive&);
double key_thickness_mm(const Drive&); ///< across corners
/// Across flats, or a hexalobular's outer diameter, of what a socket of this drive fits over; 0 when it does not.
double gripped_mm(const Drive&);

/// Teeth of a ratchet: 72, so it takes up after 5 degrees.
constexpr int ratchet_teeth = 72;

} // namespace boltwalk

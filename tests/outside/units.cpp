// Units against the world.
//
// SP 811: NIST Special Publication 811, appendix B.8, whose printed factors are quoted as remembered (seen mirrored on
// one public page). GNU units 2.22 and Pint 0.19.2 gave the long figures; Pint is asked again here.
#include <array>
#include <cmath>
#include <cstdio>
#include <doctest/doctest.h>
#include <memory>
#include <sstream>
#include <string>

#include "core/measure/measure.hpp"

using namespace boltwalk;

namespace {

struct Factor {
    const char* torque; ///< one of the unit
    double nm;
    double printed; ///< as SP 811 prints it
    double half_digit;
    const char* source;
};

constexpr Factor factors[] = {
    {"1 lbf·ft", 1.3558179483314004, 1.355818, 5e-7,
     "4.4482216152605 N x 0.3048 m, exact; SP 811 B.8 prints 1.355 818"},
    {"1 lbf·in", 0.1129848290276167, 0.1129848, 5e-8, "a twelfth of it; SP 811 B.8 prints 1.129 848 E-01"},
    {"1 kgf·m", 9.80665, 9.80665, 1e-12, "standard gravity, exact; SP 811 B.8 prints 9.806 65"},
    {"1 kgf·cm", 0.0980665, 0.0980665, 1e-12, "a hundredth of it; SP 811 B.8 prints 9.806 65 E-02 for the kgf·m / 100"},
};

struct Close {
    void operator()(std::FILE* pipe) const { ::pclose(pipe); }
};

std::string output_of(const std::string& command) {
    const std::unique_ptr<std::FILE, Close> pipe(::popen(command.c_str(), "r"));
    REQUIRE(pipe);
    std::string out;
    std::array<char, 4096> block{};
    while (const std::size_t n = std::fread(block.data(), 1, block.size(), pipe.get())) {
        out.append(block.data(), n);
    }
    return out;
}

} // namespace

TEST_CASE("units of torque against NIST SP 811") {
    for (const Factor& factor : factors) {
        CAPTURE(factor.source);
        const auto spec = read_torque(factor.torque);
        REQUIRE(spec.has_value());
        const double nm = spec->stages.at(0).low_nm;
        CHECK(nm == doctest::Approx(factor.nm).epsilon(1e-15));
        CHECK(std::abs(nm - factor.printed) <= factor.half_digit);
    }
    // reciprocals, from GNU units 2.22
    CHECK(torque_in(TorqueUnit::pound_force_foot, 1) == doctest::Approx(0.7375621492772655).epsilon(1e-15));
    CHECK(torque_in(TorqueUnit::pound_force_inch, 1) == doctest::Approx(8.850745791327183).epsilon(1e-15));
    CHECK(torque_in(TorqueUnit::pound_force_foot, read_torque("1 kgf·m")->stages.at(0).low_nm) ==
          doctest::Approx(7.233013851209894).epsilon(1e-15));
}

TEST_CASE("a service manual's kgf·m figure printed as kg·m is 109.8 N·m, not 11.2") {
    // 11.2 x 9.80665, derived
    CHECK(print_torque(*read_torque("11.2 kg·m")) == "110 N·m");
    CHECK(read_torque("11.2 mkg")->stages.at(0).low_nm == doctest::Approx(109.8).epsilon(5e-4));
}

TEST_CASE("the inch and the pound are exact") {
    CHECK(*read_length_mm("1 in") == 25.4);     // SP 811 B.8: 25.4 mm, exact
    CHECK(*read_mass_kg("1 lb") == 0.45359237); // SP 811 B.8: 4.535 924 E-01, from the exact 0.453 592 37
}

TEST_CASE("torques against Pint") {
    const std::string out = output_of("/usr/bin/python3 '" BOLTWALK_SOURCE_DIR "/tests/outside/units_pint.py'");
    std::istringstream lines(out);
    std::string word;
    std::string version;
    REQUIRE_MESSAGE((lines >> word >> version && word == "pint"),
                    "Pint did not run; it is Debian's python3-pint (third_party/packages.txt)");
    int compared = 0;
    std::string sign;
    std::string amount;
    double nm = 0;
    while (lines >> sign >> amount >> nm) {
        CAPTURE(sign);
        CAPTURE(amount);
        const auto spec = read_torque(amount + " " + sign);
        REQUIRE(spec.has_value());
        CHECK(spec->stages.at(0).low_nm == doctest::Approx(nm).epsilon(1e-14));
        ++compared;
    }
    CHECK(compared == 35);
}

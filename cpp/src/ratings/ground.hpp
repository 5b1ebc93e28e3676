#pragma once

#include "circuit/lookup.hpp"
#include "ratings/motor_current.hpp"
#include "ratings/power_paths.hpp"
#include "stopspan/description.hpp"
#include "stopspan/sizes.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <string>
#include <vector>

namespace stopspan::ratings {

/// What is known of a motor's currents once it was sized; 0: could not be.
struct MotorSizes {
    double rated_a = 0, start_a = 0, start_s = 0; ///< start_a, start_s: of the line current
    double slow_a = 0;                            ///< of two speeds
    Start start = Start::direct;
    bool jogged = false;
    bool typical = false; ///< of a table, not of its plate
    double of_element_a(const Behind &behind) const {
        if (behind.slow && !behind.fast)
            return slow_a;
        const double share_a = behind.share * rated_a;
        return behind.slow ? std::max(share_a, slow_a) : share_a;
    }
    /// While it starts: in star the line current is the same in front of and behind the split.
    double at_start_a(const Behind &behind) const {
        const double running_a = of_element_a(behind);
        if (rated_a <= 0)
            return 0;
        return start == Start::star_delta ? std::max(running_a, start_a) : running_a * std::max(1.0, start_a / rated_a);
    }
};

/// A cable of known length and size between the supply and where another begins.
struct CableAhead {
    double length_m, csa_mm2, running_a;
    bool three_phase;
};
/// What it drops of the volts of what hangs on it: between its lines, or to the neutral of a one-phase load. Lines of a
/// three-phase cable are taken as loaded alike, so that its neutral drops nothing.
double lost_ahead_v(const CableAhead &one, double current_a, double power_factor, bool three_phase);

/// All that one call of sizes() works on, and the list it fills.
class Ground {
public:
    Ground(const Description &description, const Circuit &circuit, const SizeOptions &options);

    const Description &description;
    const SizeOptions &options;
    const Circuit circuit; ///< as wired; what its motors do not say is as the description has it
    const Circuit plain;   ///< without lengths; the same devices in the same order
    const Compiled compiled;
    const Lookup lookup;
    const std::vector<MotorPath> paths;
    const std::map<std::uint32_t, std::vector<Behind>> behind;
    std::vector<MotorSizes> motors; ///< per path
    /// Per machine of the description that has a board: between the supply and the starter at the machine; nothing
    /// where one of them is not known.
    std::map<const Machine *, std::optional<std::vector<CableAhead>>> ahead;
    /// Per board of the description, up to it.
    std::vector<std::optional<std::vector<CableAhead>>> up_to_board;
    Sizes out;

    const Device &device(std::uint32_t index) const { return circuit.devices()[index]; }
    const Device &motor_device(std::uint32_t path) const { return device(compiled.motors[paths[path].motor].device); }
    const std::string &machine_of(std::uint32_t path) const {
        return compiled.machines[compiled.motors[paths[path].motor].machine];
    }
    /// Of the description, or null.
    const Machine *machine(std::string_view name) const;
    const StopDevice *stop(std::string_view name) const;
    const Machine *machine_of_path(std::uint32_t path) const { return machine(machine_of(path)); }
    /// Of the area or the nearest outer one that says it.
    const std::string &floor_of(AreaId area) const;
    /// Cable between two places, as cable_way_m(). Nothing between floors, where the plan shows no way.
    std::optional<double> way_m(AreaId from_area, Position from, AreaId to_area, Position to) const;

    void add(Size size) { out.values.push_back(std::move(size)); }
    /// Once, however many sizes need it.
    void unknown(const std::string &subject, const std::string &parameter, const std::string &needed_for);

private:
    std::map<std::string, std::size_t, std::less<>> machines_, stops_;
    std::set<std::pair<std::string, std::string>> unknown_;
};

/// A parameter of a device as an input. @pre the device has it
SizeInput from_device(const Device &device, std::string_view parameter, std::string_view unit);
inline SizeInput assumed(std::string name, double value, std::string unit, std::string why) {
    return {std::move(name), value, std::move(unit), Origin::assumed, std::move(why)};
}
inline SizeInput computed(std::string name, double value, std::string unit, const std::string &subject) {
    return {std::move(name), value, std::move(unit), Origin::computed, subject};
}
/// One more sentence, or none.
void add_remark(Size &size, const std::string &text);
/// "8.5 A"
std::string amperes(double value);
inline constexpr std::string_view common_practice = "common practice, no source";

/// What flows through a device: all motors behind it together, the largest start beside the others that run.
struct Carried {
    double running_a = 0, start_more_a = 0;
    double start_s = 0; ///< longest
    std::vector<SizeInput> inputs;
    bool complete = true; ///< every motor's current is known
};
Carried carried(const Ground &ground, const std::vector<Behind> &behind);

// In the order of the list.
void size_motors(Ground &ground);
void size_contactors(Ground &ground);
void size_start_buttons(Ground &ground);
void size_overloads(Ground &ground);
void size_protection(Ground &ground);
void size_cables(Ground &ground);
void size_control_supplies(Ground &ground);
void size_coils(Ground &ground);
std::vector<ControlLine> lines_of_coils(Ground &ground);
void size_control_contacts(Ground &ground);
void size_stopping(Ground &ground);
void size_stop_functions(Ground &ground);

} // namespace stopspan::ratings

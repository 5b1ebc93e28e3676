#include "ratings/draws.hpp"

#include "base/number_text.hpp"
#include "base/words.hpp"
#include "installation/cable_way.hpp"
#include "ratings/conductor.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace stopspan {
namespace {

constexpr std::array<std::string_view, 6> origin_words{"plate", "wired", "plan", "table", "computed", "assumed"};
constexpr std::array<std::string_view, 3> fit_words{"not compared", "fits", "does not fit"};

void check(const SizeOptions &options) {
    struct Field {
        std::string_view name;
        double value, minimum, maximum;
    };
    for (const Field &field : {Field{"ambient_c", options.ambient_c, -40, 60},
                               {"running_drop_percent", options.running_drop_percent, 0.1, 100},
                               {"starting_drop_percent", options.starting_drop_percent, 0.1, 100},
                               {"control_drop_percent", options.control_drop_percent, 0.1, 100},
                               {"control_csa_mm2", options.control_csa_mm2, 0.01, 1000},
                               {"cable_capacitance_uf_per_km", options.cable_capacitance_uf_per_km, 0.001, 100},
                               {"source_impedance_ohm", options.source_impedance_ohm, 0.0001, 100},
                               {"common_cause_score", options.common_cause_score.value_or(0), 0, 100}})
        if (!(field.value >= field.minimum && field.value <= field.maximum))
            throw Error(ErrorCode::bad_value, std::string(field.name) + ": give a number from " +
                                                  format_number(field.minimum) + " to " + format_number(field.maximum));
}

} // namespace

std::string_view to_text(Origin origin) {
    return origin_words[static_cast<std::size_t>(origin)];
}
std::string_view to_text(Fit fit) {
    return fit_words[static_cast<std::size_t>(fit)];
}

const Size *Sizes::find(std::string_view subject, std::string_view quantity) const {
    for (const Size &size : values)
        if (size.subject == subject && size.quantity == quantity)
            return &size;
    return nullptr;
}

Sizes sizes(const Description &description, const Circuit &circuit, const SizeOptions &options) {
    return ratings::sizes_and_currents(description, circuit, options).sizes;
}

ratings::SizesAndCurrents ratings::sizes_and_currents(const Description &description, const Circuit &circuit,
                                                      const SizeOptions &options) {
    check(options);
    Ground ground(description, circuit, options);
    size_motors(ground);
    size_contactors(ground);
    size_start_buttons(ground);
    size_overloads(ground);
    size_protection(ground);
    size_control_supplies(ground);
    const std::vector<Draw> draws = draws_of(ground);
    size_feeders(ground, draws);
    size_cables(ground);
    size_kept_loads(ground, draws);
    std::vector<CurrentAt> currents;
    for (const Draw &draw : draws)
        currents.insert(currents.end(), draw.at.begin(), draw.at.end());
    size_coils(ground);
    size_control_contacts(ground);
    size_stopping(ground);
    if (options.performance_levels)
        size_stop_functions(ground);
    return {std::move(ground.out), std::move(currents)};
}

std::vector<ControlLine> control_lines(const Description &description, const Circuit &circuit) {
    const SizeOptions options;
    ratings::Ground ground(description, circuit, options);
    return ratings::lines_of_coils(ground);
}

namespace ratings {
namespace {

// A motor entered as found may say less of itself than the machine it belongs to.
Circuit with_plates(const Description &description, const Circuit &wired) {
    Circuit circuit = wired;
    const auto fill = [&](const Device &device, std::string_view name, std::optional<double> value) {
        const auto rules = parameter_rules(device.kind);
        if (value && !device.number(name) && std::ranges::find(rules, name, &ParameterRule::name) != rules.end())
            circuit.set_parameter(device.designation, name, *value);
    };
    for (const Machine &machine : description.machines())
        for (const Motor &motor : machine.motors)
            if (const auto found = wired.find(motor.name)) {
                const Device &device = wired.device(*found);
                if (stopspan::machine_of(device) != machine.name)
                    continue;
                fill(device, "power_kw", motor.power_kw);
                fill(device, "voltage_v", motor.voltage_v);
                fill(device, "current_a", motor.current_a);
                fill(device, "efficiency", motor.efficiency);
                fill(device, "power_factor", motor.power_factor);
                fill(device, "starting_current_ratio", motor.starting_current_ratio);
                fill(device, "starting_time_s", motor.starting_time_s);
                fill(device, "capacitor_uf", motor.capacitor_uf);
                fill(device, "slow_power_kw", motor.slow_power_kw);
                fill(device, "slow_current_a", motor.slow_current_a);
            }
    return circuit;
}

} // namespace

Ground::Ground(const Description &described, const Circuit &wired, const SizeOptions &given)
    : description(described), options(given), circuit(with_plates(described, wired)), plain(without_lengths(circuit)),
      compiled(compile(plain)), lookup(compiled), paths(motor_paths(compiled, lookup)),
      behind(motors_behind(compiled, paths)), motors(paths.size()) {
    for (std::size_t i = 0; i < description.machines().size(); ++i)
        machines_.emplace(description.machines()[i].name, i);
    for (std::size_t i = 0; i < description.stops().size(); ++i)
        stops_.emplace(description.stops()[i].name, i);
}

const Machine *Ground::machine(std::string_view name) const {
    const auto found = machines_.find(name);
    return found == machines_.end() ? nullptr : &description.machines()[found->second];
}

const StopDevice *Ground::stop(std::string_view name) const {
    const auto found = stops_.find(name);
    return found == stops_.end() ? nullptr : &description.stops()[found->second];
}

const std::string &Ground::floor_of(AreaId area) const {
    static const std::string unsaid;
    for (std::optional<AreaId> here = area; here; here = description[*here].within)
        if (!description[*here].floor.empty())
            return description[*here].floor;
    return unsaid;
}

std::optional<double> Ground::way_m(AreaId from_area, Position from, AreaId to_area, Position to) const {
    return floor_of(from_area) == floor_of(to_area) ? std::optional(cable_way_m(from, to)) : std::nullopt;
}

void Ground::unknown(const std::string &subject, const std::string &parameter, const std::string &needed_for) {
    if (unknown_.emplace(subject, parameter).second)
        out.unknown.push_back({subject, parameter, needed_for});
}

SizeInput from_device(const Device &device, std::string_view parameter, std::string_view unit) {
    return {std::string(parameter), device.number(parameter).value(), std::string(unit), Origin::plate,
            device.designation};
}

double lost_ahead_v(const CableAhead &one, double current_a, double power_factor, bool three_phase) {
    const double lost_v = voltage_drop_v(one.three_phase, current_a, one.length_m, one.csa_mm2, power_factor);
    return one.three_phase && !three_phase ? lost_v / std::sqrt(3.0) : lost_v;
}

void add_remark(Size &size, const std::string &text) {
    size.remark += (size.remark.empty() || text.empty() ? "" : " ") + text;
}

Carried carried(const Ground &ground, const std::vector<Behind> &behind) {
    Carried all;
    for (const Behind &each : behind) {
        const MotorSizes &sizes = ground.motors[each.path];
        const std::string &motor = ground.motor_device(each.path).designation;
        if (sizes.rated_a <= 0) {
            all.complete = false;
            continue;
        }
        const double running_a = sizes.of_element_a(each);
        all.running_a += running_a;
        all.start_more_a = std::max(all.start_more_a, sizes.at_start_a(each) - running_a);
        all.start_s = std::max(all.start_s, sizes.start_s);
        all.inputs.push_back(
            computed("rated current", each.slow && !each.fast ? sizes.slow_a : sizes.rated_a, "A", motor));
        if (each.share < 1)
            all.inputs.push_back(
                {"share of the line current", each.share, "", Origin::wired, motor + ", from where it stands"});
    }
    return all;
}

std::string amperes(double value) {
    return format_fixed(value, value < 10 ? 2 : 1) + " A";
}

} // namespace ratings
} // namespace stopspan

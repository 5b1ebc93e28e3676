#include "circuit/kinds.hpp"

#include "base/number_text.hpp"
#include "base/words.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <limits>

namespace stopspan {
namespace {

using Names = std::span<const std::string_view>;
using enum DeviceKind;

constexpr std::array<std::string_view, 4> mains_3ph_terminals{"L1", "L2", "L3", "N"};
constexpr std::array<std::string_view, 2> mains_1ph_terminals{"L", "N"};
constexpr std::array<std::string_view, 4> dc_supply_terminals{"P", "M", "ac1", "ac2"};
constexpr std::array<std::string_view, 4> transformer_terminals{"p1", "p2", "s1", "s2"};
constexpr std::array<std::string_view, 2> coil_terminals{"A1", "A2"};
constexpr std::array<std::string_view, 4> latched_terminals{"C1", "C2", "E1", "E2"};
constexpr std::array<std::string_view, 10> stop_relay_terminals{"A1",  "A2",  "S11", "S12", "S21",
                                                                "S22", "S33", "S34", "Y1",  "Y2"};
constexpr std::array<std::string_view, 3> motor_3ph_terminals{"U", "V", "W"};
constexpr std::array<std::string_view, 6> motor_6lead_terminals{"U1", "V1", "W1", "U2", "V2", "W2"};
constexpr std::array<std::string_view, 7> drive_terminals{"R", "S", "T", "RUN1", "RUN2", "STO1", "STO2"};
constexpr std::array<std::string_view, 3> drive_needed{"R", "S", "T"};
constexpr std::array<std::string_view, 2> two_terminals{"1", "2"};
constexpr std::array<std::string_view, 2> monitor_terminals{"L", "PE"};
constexpr std::array<std::string_view, 2> supply_needed{"P", "M"};
constexpr std::array<std::string_view, 2> secondary_needed{"s1", "s2"};

KindRule rule(DeviceKind kind, std::string_view text, Names terminals = {}, Names needed = {}) {
    return {.kind = kind, .text = text, .terminals = terminals, .needed = needed};
}
KindRule hand(DeviceKind kind, std::string_view text) {
    return {.kind = kind, .text = text, .terminals = {}, .needed = {}, .contacts = true, .actuator = true};
}
KindRule armature(DeviceKind kind, std::string_view text, bool poles, bool delayed) {
    return {.kind = kind,
            .text = text,
            .terminals = coil_terminals,
            .needed = coil_terminals,
            .poles = poles,
            .contacts = true,
            .delayed = delayed,
            .coil = true};
}

std::vector<KindRule> make_rules() {
    std::vector<KindRule> rules{
        rule(mains_3ph, "mains-3ph", mains_3ph_terminals),
        rule(mains_1ph, "mains-1ph", mains_1ph_terminals),
        rule(dc_supply, "dc-supply", dc_supply_terminals, supply_needed),
        rule(transformer, "transformer", transformer_terminals, secondary_needed),
        {.kind = isolator, .text = "isolator", .terminals = {}, .needed = {}, .poles = true, .contacts = true},
        rule(fuse, "fuse", two_terminals, two_terminals),
        {.kind = overload, .text = "overload", .terminals = {}, .needed = {}, .poles = true},
        hand(push_button, "push-button"),
        hand(selector, "selector"),
        hand(key_switch, "key-switch"),
        hand(pedal, "pedal"),
        hand(floor_bar, "floor-bar"),
        hand(pull_wire, "pull-wire"),
        hand(emergency_stop, "emergency-stop"),
        hand(guard_switch, "guard-switch"),
        armature(contactor, "contactor", true, false),
        armature(relay, "relay", true, false),
        armature(timer, "timer", false, true),
        {.kind = latched_contactor,
         .text = "latched-contactor",
         .terminals = latched_terminals,
         .needed = latched_terminals,
         .poles = true,
         .contacts = true,
         .coil = true},
        {.kind = stop_relay,
         .text = "stop-relay",
         .terminals = stop_relay_terminals,
         .needed = coil_terminals,
         .contacts = true,
         .coil = true},
        rule(motor_1ph, "motor-1ph", mains_1ph_terminals, mains_1ph_terminals),
        rule(motor_3ph, "motor-3ph", motor_3ph_terminals, motor_3ph_terminals),
        rule(motor_6lead, "motor-6lead", motor_6lead_terminals, motor_6lead_terminals),
        rule(motor_2speed, "motor-2speed", motor_6lead_terminals, motor_6lead_terminals),
        rule(drive, "drive", drive_terminals, drive_needed),
        rule(lamp, "lamp", two_terminals, two_terminals),
        rule(load, "load", two_terminals, two_terminals),
        rule(resistor, "resistor", two_terminals, two_terminals),
        rule(capacitor, "capacitor", two_terminals, two_terminals),
        rule(cable, "cable"),
        {.kind = insulation_monitor,
         .text = "insulation-monitor",
         .terminals = monitor_terminals,
         .needed = monitor_terminals,
         .contacts = true},
        rule(link, "link", two_terminals, two_terminals),
    };
    return rules;
}

std::optional<int> whole_number(std::string_view text) {
    int value = 0;
    const auto result = std::from_chars(text.data(), text.data() + text.size(), value);
    if (result.ec != std::errc() || result.ptr != text.data() + text.size() || value <= 0 || text.front() == '0')
        return std::nullopt;
    return value;
}

// Number types of parameters; ranges are what a workshop can meet, wide on purpose.
using Type = ParameterRule::Type;
constexpr ParameterRule number(std::string_view name, double minimum, double maximum, bool required = false) {
    return {.name = name, .type = Type::number, .minimum = minimum, .maximum = maximum, .required = required};
}
constexpr ParameterRule word(std::string_view name, std::string_view words) {
    return {.name = name, .type = Type::word, .words = words};
}
constexpr ParameterRule flag(std::string_view name) {
    return {.name = name, .type = Type::flag};
}
constexpr ParameterRule text(std::string_view name) {
    return {.name = name, .type = Type::text};
}

// IEC 60947-5-1 annex A.
constexpr std::string_view contact_ratings = "A600 B600 C600 D300 E150 N P Q R";
constexpr std::string_view cable_methods = "B1 B2 C E"; // IEC 60204-1 annex D

constexpr std::array mains_parameters{number("voltage_v", 10, 1000), number("frequency_hz", 10, 400),
                                      text("earthed_pole"), number("impedance_ohm", 0, 100)};
constexpr std::array dc_parameters{number("voltage_v", 1, 1000, true), number("power_w", 0.1, 1e5),
                                   text("earthed_pole")};
constexpr std::array transformer_parameters{number("secondary_v", 1, 1000, true), number("primary_v", 10, 1000),
                                            number("rating_va", 0.1, 1e6), text("earthed_pole")};
constexpr std::array fuse_parameters{number("rating_a", 0.01, 1e4), word("fuse_type", "gG aM B C D")};
constexpr std::array overload_parameters{
    number("setting_a", 0.01, 1e4), word("trip_class", "5 10A 10 20 30 5E 10E 20E 30E"),
    word("reset", "manual automatic"), number("lowest_setting_a", 0.01, 1e4), number("highest_setting_a", 0.01, 1e4)};
constexpr std::array actuator_parameters{word("action", "momentary latching maintained spring-return"),
                                         word("role", "none start stop reset jog test select"),
                                         number("rating_a", 0.01, 1e4),
                                         text("machine"),
                                         number("stop_category", 0, 1),
                                         number("height_m", 0, 10),
                                         word("contact_rating", contact_ratings),
                                         number("b10d_cycles", 1, 1e12),
                                         number("operations_per_year", 0.01, 1e9),
                                         flag("well_tried")};
constexpr std::array armature_parameters{number("coil_voltage_v", 1, 1000, true),
                                         word("coil_current", "AC DC"),
                                         number("hold_va", 0.01, 1e5),
                                         number("hold_w", 0.01, 1e5),
                                         number("inrush_va", 0.01, 1e6),
                                         number("ac3_rating_a", 0.1, 1e5),
                                         number("ac1_rating_a", 0.1, 1e5),
                                         number("ac4_rating_a", 0.1, 1e5),
                                         word("contact_rating", contact_ratings),
                                         text("interlocked_with"),
                                         number("b10d_cycles", 1, 1e12),
                                         number("operations_per_year", 0.01, 1e9),
                                         flag("well_tried")};
constexpr std::array timer_parameters{number("coil_voltage_v", 1, 1000, true),
                                      word("coil_current", "AC DC"),
                                      number("hold_va", 0.01, 1e5),
                                      number("hold_w", 0.01, 1e5),
                                      number("inrush_va", 0.01, 1e6),
                                      number("delay_s", 0, 1e6),
                                      word("delay", "on off"),
                                      number("b10d_cycles", 1, 1e12),
                                      number("operations_per_year", 0.01, 1e9),
                                      flag("well_tried")};
constexpr std::array stop_relay_parameters{number("coil_voltage_v", 1, 1000, true),
                                           word("coil_current", "AC DC"),
                                           number("hold_va", 0.01, 1e5),
                                           number("hold_w", 0.01, 1e5),
                                           number("inrush_va", 0.01, 1e6),
                                           number("channels", 1, 2),
                                           word("reset", "manual automatic"),
                                           number("dangerous_failures_per_h", 1e-12, 1e-4),
                                           word("safety_category", "B 1 2 3 4")};
constexpr std::array motor_parameters{
    number("power_kw", 0.001, 1e5),          number("voltage_v", 1, 20000),       text("machine"),
    number("current_a", 0.01, 1e5),          number("efficiency", 0.05, 1),       number("power_factor", 0.05, 1),
    number("starting_current_ratio", 1, 20), number("starting_time_s", 0.01, 600)};
constexpr std::array one_phase_motor_parameters{
    number("power_kw", 0.001, 1e5),          number("voltage_v", 1, 20000),        text("machine"),
    number("current_a", 0.01, 1e5),          number("efficiency", 0.05, 1),        number("power_factor", 0.05, 1),
    number("starting_current_ratio", 1, 20), number("starting_time_s", 0.01, 600), number("capacitor_uf", 0.1, 10000)};
constexpr std::array two_speed_parameters{
    number("power_kw", 0.001, 1e5),      number("voltage_v", 1, 20000),           text("machine"),
    word("slow_ends", "joined apart"),   number("current_a", 0.01, 1e5),          number("efficiency", 0.05, 1),
    number("power_factor", 0.05, 1),     number("starting_current_ratio", 1, 20), number("starting_time_s", 0.01, 600),
    number("slow_power_kw", 0.001, 1e5), number("slow_current_a", 0.01, 1e5)};
constexpr std::array drive_parameters{
    word("on_power_return", "runs waits"), text("machine"),
    number("power_kw", 0.001, 1e5),        number("voltage_v", 1, 20000),
    number("current_a", 0.01, 1e5),        number("dangerous_failures_per_h", 1e-12, 1e-4),
    word("safety_category", "B 1 2 3 4")};
constexpr std::array load_parameters{number("voltage_v", 1, 20000), number("current_a", 1e-4, 1e5), flag("kept"),
                                     text("machine")};
constexpr std::array resistor_parameters{number("resistance_ohm", 1e-6, 1e9, true)};
constexpr std::array capacitor_parameters{number("capacitance_uf", 1e-9, 1e6, true)};
constexpr std::array cable_parameters{number("length_m", 0, 1e5), number("csa_mm2", 0.01, 1000),
                                      number("cores", 1, 100),    word("method", cable_methods),
                                      number("grouping", 1, 9),   number("ambient_c", -40, 60)};

// Core n of a cable joins terminals "n.1" and "n.2"; a cable of one core may use "1" and "2".
bool is_cable_terminal(std::string_view terminal) {
    if (terminal == "1" || terminal == "2")
        return true;
    const auto dot = terminal.find('.');
    if (dot == std::string_view::npos || dot == 0 || dot > 3)
        return false;
    return std::all_of(terminal.begin(), terminal.begin() + static_cast<std::ptrdiff_t>(dot),
                       [](char c) { return c >= '0' && c <= '9'; }) &&
           (terminal.substr(dot + 1) == "1" || terminal.substr(dot + 1) == "2");
}

} // namespace

const KindRule &kind_rule(DeviceKind kind) {
    static const std::vector<KindRule> rules = make_rules();
    return rules[static_cast<std::size_t>(kind)];
}

std::span<const DeviceKind> all_device_kinds() {
    static const std::vector<DeviceKind> kinds = [] {
        std::vector<DeviceKind> all;
        for (int i = 0; i <= static_cast<int>(link); ++i)
            all.push_back(static_cast<DeviceKind>(i));
        return all;
    }();
    return kinds;
}

std::string to_text(const Parameter &parameter) {
    if (const double *number = std::get_if<double>(&parameter))
        return format_number(*number);
    if (const bool *flag = std::get_if<bool>(&parameter))
        return *flag ? "true" : "false";
    return std::get<std::string>(parameter);
}

std::string_view to_text(DeviceKind kind) {
    return kind_rule(kind).text;
}

DeviceKind device_kind(std::string_view name) {
    std::vector<std::string_view> known;
    for (const DeviceKind kind : all_device_kinds()) {
        if (to_text(kind) == name)
            return kind;
        known.push_back(to_text(kind));
    }
    throw Error(ErrorCode::bad_value, "no device kind '" + std::string(name) + "'; known: " + listed(known));
}

std::span<const ParameterRule> parameter_rules(DeviceKind kind) {
    switch (kind) {
    case mains_3ph:
    case mains_1ph:
        return mains_parameters;
    case dc_supply:
        return dc_parameters;
    case transformer:
        return transformer_parameters;
    case fuse:
        return fuse_parameters;
    case overload:
        return overload_parameters;
    case push_button:
    case selector:
    case key_switch:
    case pedal:
    case floor_bar:
    case pull_wire:
    case emergency_stop:
    case guard_switch:
        return actuator_parameters;
    case contactor:
    case relay:
    case latched_contactor:
        return armature_parameters;
    case timer:
        return timer_parameters;
    case stop_relay:
        return stop_relay_parameters;
    case motor_1ph:
        return one_phase_motor_parameters;
    case motor_3ph:
    case motor_6lead:
        return motor_parameters;
    case motor_2speed:
        return two_speed_parameters;
    case drive:
        return drive_parameters;
    case lamp:
    case load:
        return load_parameters;
    case resistor:
        return resistor_parameters;
    case capacitor:
        return capacitor_parameters;
    case cable:
        return cable_parameters;
    case isolator:
    case insulation_monitor:
    case link:
        break;
    }
    return {};
}

std::optional<ContactTerminal> contact_terminal(const KindRule &rule, std::string_view terminal) {
    const auto digits = whole_number(terminal);
    if (!digits)
        return std::nullopt;
    const int value = *digits;
    const bool first = value % 2 == 1;
    const auto found = [&](ContactSense sense) {
        return ContactTerminal{sense, first, std::to_string(first ? value + 1 : value - 1)};
    };
    if (value < 10)
        return rule.poles && value <= 8 ? std::optional(found(ContactSense::pole)) : std::nullopt;
    if (rule.kind == overload) {
        if (value == 95 || value == 96)
            return found(ContactSense::trip_break);
        if (value == 97 || value == 98)
            return found(ContactSense::trip_make);
        return std::nullopt;
    }
    // Three digits are in use on position switches; a stop for a whole site has a block in the chain of every area.
    if (!rule.contacts || value > 999'999)
        return std::nullopt;
    switch (value % 10) {
    case 1:
    case 2:
        return found(ContactSense::break_);
    case 3:
    case 4:
        return found(ContactSense::make);
    case 5:
    case 6:
        return rule.delayed ? std::optional(found(ContactSense::delayed_break)) : std::nullopt;
    case 7:
    case 8:
        return rule.delayed ? std::optional(found(ContactSense::delayed_make)) : std::nullopt;
    default:
        return std::nullopt;
    }
}

bool has_terminal(const KindRule &rule, std::string_view terminal) {
    return std::find(rule.terminals.begin(), rule.terminals.end(), terminal) != rule.terminals.end() ||
           contact_terminal(rule, terminal) || (rule.kind == cable && is_cable_terminal(terminal));
}

} // namespace stopspan

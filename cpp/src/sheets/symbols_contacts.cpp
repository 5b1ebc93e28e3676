#include "sheets/symbol_pen.hpp"

#include <array>

namespace stopspan {
namespace {

using enum DeviceKind;

constexpr double middle = contact_middle_mm;
// Where the head of an actuator stands, and half its height.
constexpr double head = -9, reach = 1.75;

// A make contact's blade leans to the left, a break contact's to the right of its fixed contact, so that in both the
// movement that actuates goes from left to right.
SymbolPen contact(const std::string &name, bool break_contact) {
    SymbolPen pen(name);
    pen.line({0, 0}, {0, fixed_contact_mm}).line({0, hinge_mm}, {0, -contact_height_mm});
    if (break_contact)
        pen.line({0, fixed_contact_mm}, {2.75, fixed_contact_mm}).line({0, hinge_mm}, {3.0, fixed_contact_mm + 1});
    else
        pen.line({0, hinge_mm}, {-2.5, fixed_contact_mm});
    pen.terminal(0, true, break_contact ? 3.75 : 1).terminal(0, false);
    return pen;
}

double blade(bool break_contact) {
    return break_contact ? 1.25 : -1.25;
}

void head_push(SymbolPen &pen) {
    pen.path(
        {{head + 1.25, middle + reach}, {head, middle + reach}, {head, middle - reach}, {head + 1.25, middle - reach}});
}
void head_turn(SymbolPen &pen) {
    pen.path(
        {{head - 1.25, middle + reach}, {head, middle + reach}, {head, middle - reach}, {head + 1.25, middle - reach}});
}
void head_pull(SymbolPen &pen) {
    pen.path(
        {{head - 1.25, middle + reach}, {head, middle + reach}, {head, middle - reach}, {head - 1.25, middle - reach}});
}
void head_mushroom(SymbolPen &pen) {
    pen.line({head, middle + reach}, {head, middle - reach}).arc({head, middle}, reach, 90, 270);
}
void head_key(SymbolPen &pen) {
    pen.circle({head - 1, middle}, 1)
        .line({head, middle}, {head + 2.25, middle})
        .line({head + 1.25, middle}, {head + 1.25, middle - 1})
        .line({head + 2.25, middle}, {head + 2.25, middle - 1});
}
void head_pedal(SymbolPen &pen) {
    pen.line({head - 1.25, middle + reach}, {head + 1.25, middle - reach})
        .line({head - 1.25, middle + reach}, {head - 2.25, middle + reach - 0.75});
}
void head_bar(SymbolPen &pen) {
    pen.box(head - 1, middle - reach, head, middle + reach);
}
// A cam follower: the roller and lever of a position switch.
void head_guard(SymbolPen &pen) {
    pen.circle({head - 1, middle}, 1).line({head, middle + 1}, {head, middle - 1});
}

// Positive opening, the circled arrow: an emergency stop's break contacts are forced apart (IEC 60947-5-5).
void mark_positive_opening(SymbolPen &pen) {
    constexpr double x = -5.5, y = contact_middle_mm - 3.5, radius = 1.25;
    pen.circle({x, y}, radius)
        .line({x - radius, y}, {x + 2.5, y})
        .path({{x + 1.75, y + 0.6}, {x + 2.5, y}, {x + 1.75, y - 0.6}});
}

struct Actuator {
    DeviceKind kind;
    std::string_view name;
    void (*draw)(SymbolPen &);
};
constexpr std::array actuators{
    Actuator{push_button, "PUSH_BUTTON", head_push},
    Actuator{selector, "SELECTOR", head_turn},
    Actuator{key_switch, "KEY_SWITCH", head_key},
    Actuator{pedal, "PEDAL", head_pedal},
    Actuator{floor_bar, "FLOOR_BAR", head_bar},
    Actuator{pull_wire, "PULL_WIRE", head_pull},
    Actuator{emergency_stop, "EMERGENCY_STOP", head_mushroom},
    Actuator{guard_switch, "GUARD_SWITCH", head_guard},
};

void add_actuated(SymbolLibrary &library, const Actuator &actuator, bool break_contact, bool stays) {
    SymbolPen pen = contact(std::string(actuator.name) + (break_contact ? "_BREAK" : "_MAKE") + (stays ? "_STAYS" : ""),
                            break_contact);
    const double from = actuator.kind == key_switch ? head + 2.25 : head;
    pen.line({from, middle}, {blade(break_contact), middle}, true);
    if (stays) // a detent holds the link where it was put
        pen.path({{-5.25, middle}, {-4.5, middle - 1.25}, {-3.75, middle}});
    actuator.draw(pen);
    if (break_contact && actuator.kind == emergency_stop)
        mark_positive_opening(pen);
    pen.into(library);
}

// A delay acts in the direction towards the centre of its arc.
void add_timed(SymbolLibrary &library, bool break_contact, bool on_delay) {
    SymbolPen pen =
        contact(std::string(on_delay ? "ON_DELAY" : "OFF_DELAY") + (break_contact ? "_BREAK" : "_MAKE"), break_contact);
    const double end = blade(break_contact);
    pen.line({-6.5, middle + 0.5}, {end + (break_contact ? -0.2 : 0.3) - 0.2, middle + 0.5})
        .line({-6.5, middle - 0.5}, {end + (break_contact ? -0.6 : 0.1), middle - 0.5});
    if (on_delay)
        pen.arc({-4.75, middle}, 1.75, 110, 250);
    else
        pen.arc({-8.25, middle}, 1.75, -70, 70);
    pen.into(library);
}

void add_thermal(SymbolLibrary &library, bool break_contact) {
    SymbolPen pen = contact(break_contact ? "OVERLOAD_TRIP_BREAK" : "OVERLOAD_TRIP_MAKE", break_contact);
    pen.line({-5.5, middle}, {blade(break_contact), middle}, true)
        .box(-9, middle - reach, -5.5, middle + reach)
        .path({{-9, middle - 0.75},
               {-7.75, middle - 0.75},
               {-7.75, middle + 0.75},
               {-6.75, middle + 0.75},
               {-6.75, middle - 0.75},
               {-5.5, middle - 0.75}})
        .into(library);
}

} // namespace

void add_contact_symbols(SymbolLibrary &library) {
    contact("MAKE_CONTACT", false).into(library);
    contact("BREAK_CONTACT", true).into(library);
    for (const bool break_contact : {false, true}) {
        for (const Actuator &actuator : actuators)
            for (const bool stays : {false, true})
                add_actuated(library, actuator, break_contact, stays);
        for (const bool on_delay : {false, true})
            add_timed(library, break_contact, on_delay);
        add_thermal(library, break_contact);
    }
}

std::string contact_symbol(const Device &device, ContactSense sense) {
    const bool break_contact =
        sense == ContactSense::break_ || sense == ContactSense::delayed_break || sense == ContactSense::trip_break;
    const std::string tail = break_contact ? "_BREAK" : "_MAKE";
    if (sense == ContactSense::delayed_break || sense == ContactSense::delayed_make)
        return (device.word("delay").value_or("on") == "off" ? "OFF_DELAY" : "ON_DELAY") + tail;
    if (sense == ContactSense::trip_break || sense == ContactSense::trip_make)
        return "OVERLOAD_TRIP" + tail;
    for (const Actuator &actuator : actuators)
        if (actuator.kind == device.kind)
            return std::string(actuator.name) + tail + (is_momentary(device) ? "" : "_STAYS");
    return break_contact ? "BREAK_CONTACT" : "MAKE_CONTACT";
}

} // namespace stopspan

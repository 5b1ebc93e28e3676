#include "sheets/frame.hpp"
#include "sheets/single_line.hpp"
#include "sheets/special_sheets.hpp"
#include "sheets/symbol_pen.hpp"

#include <cmath>
#include <set>

namespace stopspan {
namespace {

using enum DeviceKind;
constexpr double middle = contact_middle_mm;

SymbolPen two_terminal(const std::string &name) {
    SymbolPen pen(name);
    pen.terminal(0, true).terminal(0, false).designation({-6, middle - 1.75});
    return pen;
}

SymbolPen with_leads(const std::string &name, double upper_end = fixed_contact_mm, double lower_end = hinge_mm) {
    SymbolPen pen = two_terminal(name);
    pen.line({0, 0}, {0, upper_end}).line({0, lower_end}, {0, -contact_height_mm});
    return pen;
}

SymbolPen coil(const std::string &name) {
    SymbolPen pen = with_leads(name);
    pen.box(-5, hinge_mm, 5, fixed_contact_mm).rating({6, middle - 1.25});
    return pen;
}

void add_coils(SymbolLibrary &library) {
    coil("COIL").into(library);
    coil("COIL_ON_DELAY")
        .line({-2.5, fixed_contact_mm}, {-2.5, hinge_mm})
        .line({-5, fixed_contact_mm}, {-2.5, hinge_mm})
        .line({-5, hinge_mm}, {-2.5, fixed_contact_mm})
        .into(library);
    SymbolPen off = coil("COIL_OFF_DELAY");
    off.line({-2.5, fixed_contact_mm}, {-2.5, hinge_mm});
    for (double x = -4.5; x < -2.5; x += 0.5) // a filled field
        off.line({x, fixed_contact_mm}, {x, hinge_mm});
    off.into(library);
    coil("COIL_CLOSES_AND_LATCHES").text({0, middle - 1.25}, small_text_mm, "I").into(library);
    coil("COIL_TRIPS").text({0, middle - 1.25}, small_text_mm, "0").into(library);
    coil("INPUT").line({-5, hinge_mm}, {5, fixed_contact_mm}).reference({6, middle - 1.25}).into(library);
    coil("INSULATION_MONITOR").text({0, middle - 1.25}, small_text_mm, "R<").into(library);
}

// Motor: a circle with its leads fanned out to the poles above and below.
void add_motor(SymbolLibrary &library, const std::string &name, std::size_t upper, std::size_t lower,
               const std::string &phases) {
    const double radius = upper > 3 ? 8.75 : 6.25;
    const double centre_x = pole_pitch_mm * static_cast<double>(upper - 1) / 2;
    const double centre_y = -5 - radius - 2.5;
    const double height = lower ? -2 * centre_y : up_to_grid(-centre_y + radius);
    SymbolPen pen(name, height);
    const auto lead = [&](std::size_t i, std::size_t count, bool above) {
        const double x = pole_pitch_mm * static_cast<double>(i);
        const double share = count == 1 ? 0 : 2 * static_cast<double>(i) / static_cast<double>(count - 1) - 1;
        const double dx = share * radius * 0.8;
        const double dy = std::sqrt(radius * radius - dx * dx);
        const double sign = above ? 1 : -1;
        const double outer = above ? 0 : -height;
        pen.path({{x, outer}, {x, outer - sign * 3.75}, {centre_x + dx, centre_y + sign * dy}});
    };
    for (std::size_t i = 0; i < upper; ++i)
        lead(i, upper, true);
    for (std::size_t i = 0; i < lower; ++i)
        lead(i, lower, false);
    pen.circle({centre_x, centre_y}, radius)
        .text({centre_x, centre_y + 0.25}, normal_text_mm, "M")
        .text({centre_x, centre_y - 3.75}, small_text_mm, phases);
    for (std::size_t i = 0; i < upper; ++i)
        pen.terminal(pole_pitch_mm * static_cast<double>(i), true);
    for (std::size_t i = 0; i < lower; ++i)
        pen.terminal(pole_pitch_mm * static_cast<double>(i), false);
    pen.designation({centre_x - radius - 1.5, centre_y - 1.75})
        .rating({centre_x + radius + 1.5, centre_y - 1.25})
        .into(library);
}

void add_drive(SymbolLibrary &library) {
    SymbolPen pen("DRIVE", 32.5);
    for (const double x : {0., 10., 20.})
        pen.line({x, 0}, {x, -3.75});
    pen.box(-2.5, -15, 22.5, -3.75)
        .line({-2.5, -15}, {22.5, -3.75})
        .arc({2, -7}, 1, 0, 180)
        .arc({4, -7}, 1, 180, 360)
        .arc({16, -12}, 1, 0, 180)
        .arc({18, -12}, 1, 180, 360)
        .line({10, -15}, {10, -17.5})
        .circle({10, -23.75}, 6.25)
        .text({10, -23.5}, normal_text_mm, "M")
        .text({10, -27.5}, small_text_mm, "3~");
    for (const double x : {0., 10., 20.})
        pen.terminal(x, true);
    pen.designation({-3.5, -11}).rating({23.5, -10.5}).reference({18, -21}).into(library);
}

} // namespace

void add_machine_symbols(SymbolLibrary &library) {
    add_motor(library, "MOTOR_1PH", 2, 0, "1~");
    add_motor(library, "MOTOR_3PH", 3, 0, "3~");
    add_motor(library, "MOTOR_6LEAD", 3, 3, "3~");
    add_motor(library, "MOTOR_2SPEED", 6, 0, "3~");
    add_drive(library);
}

void add_two_terminal_symbols(SymbolLibrary &library) {
    add_coils(library);
    two_terminal("FUSE")
        .line({0, 0}, {0, -contact_height_mm})
        .box(-1.25, hinge_mm - 0.5, 1.25, fixed_contact_mm + 0.5)
        .designation({-2.5, middle - 1.75})
        .rating({2.5, middle - 1.25})
        .into(library);
    with_leads("LAMP")
        .circle({0, middle}, 2.5)
        .line({-1.77, middle - 1.77}, {1.77, middle + 1.77})
        .line({-1.77, middle + 1.77}, {1.77, middle - 1.77})
        .designation({-3.5, middle - 1.75})
        .into(library);
    with_leads("LOAD")
        .box(-2.5, hinge_mm, 2.5, fixed_contact_mm)
        .line({-2.5, fixed_contact_mm}, {2.5, hinge_mm})
        .line({-2.5, hinge_mm}, {2.5, fixed_contact_mm})
        .designation({-3.5, middle - 1.75})
        .into(library);
    with_leads("RESISTOR")
        .box(-1.25, hinge_mm, 1.25, fixed_contact_mm)
        .designation({-2.5, middle - 1.75})
        .rating({2.5, middle - 1.25})
        .into(library);
    with_leads("CAPACITOR", middle + 0.5, middle - 0.5)
        .line({-2.5, middle + 0.5}, {2.5, middle + 0.5})
        .line({-2.5, middle - 0.5}, {2.5, middle - 0.5})
        .designation({-3.5, middle - 1.75})
        .into(library);
    with_leads("LINK", fixed_contact_mm + 0.75, hinge_mm - 0.75)
        .circle({0, fixed_contact_mm}, 0.75)
        .circle({0, hinge_mm}, 0.75)
        .line({0, fixed_contact_mm - 0.75}, {0, hinge_mm + 0.75})
        .designation({-2.5, middle - 1.75})
        .into(library);
    two_terminal("CABLE_CORE")
        .line({0, 0}, {0, -contact_height_mm})
        .path({{-1.25, -5}, {1.25, -5}, {1.25, -7.5}, {-1.25, -7.5}}, true)
        .line({-1.25, -7.5}, {1.25, -5})
        .designation({-2.5, middle - 1.75})
        .rating({2.5, middle - 1.25})
        .into(library);
}

void add_net_symbols(SymbolLibrary &library) {
    SymbolPen("NET_NAME", 0).point("NET", {0, 0}).attribute("PLACE").into(library);
    SymbolPen("NET_GOES_UP", 0)
        .path({{-1, -1.75}, {0, 0}, {1, -1.75}})
        .point("NET", {0, 0})
        .attribute("PLACE")
        .into(library);
    SymbolPen("NET_GOES_DOWN", 0)
        .path({{-1, 1.75}, {0, 0}, {1, 1.75}})
        .point("NET", {0, 0})
        .attribute("PLACE")
        .into(library);
}

std::string coil_symbol(const Device &device, std::string_view terminal) {
    if (device.kind == timer)
        return device.word("delay").value_or("on") == "off" ? "COIL_OFF_DELAY" : "COIL_ON_DELAY";
    if (device.kind == latched_contactor)
        return terminal == "C1" ? "COIL_CLOSES_AND_LATCHES" : "COIL_TRIPS";
    return "COIL";
}

std::string device_symbol(const Device &device, std::size_t count) {
    switch (device.kind) {
    case mains_3ph:
    case mains_1ph:
        return "MAINS_" + std::to_string(count);
    case dc_supply:
        return count == 4 ? "DC_SUPPLY" : "DC_SUPPLY_FEED_NOT_SHOWN";
    case transformer:
        return count == 4 ? "TRANSFORMER" : "TRANSFORMER_FEED_NOT_SHOWN";
    case motor_1ph:
        return "MOTOR_1PH";
    case motor_3ph:
        return "MOTOR_3PH";
    case motor_6lead:
        return "MOTOR_6LEAD";
    case motor_2speed:
        return "MOTOR_2SPEED";
    case drive:
        return "DRIVE";
    case fuse:
        return "FUSE";
    case lamp:
        return "LAMP";
    case load:
        return "LOAD";
    case resistor:
        return "RESISTOR";
    case capacitor:
        return "CAPACITOR";
    case cable:
        return "CABLE_CORE";
    case link:
        return "LINK";
    case insulation_monitor:
        return "INSULATION_MONITOR";
    default:
        return "INPUT";
    }
}

const SymbolShape &symbol_shape(std::string_view name) {
    static const SymbolLibrary library = [] {
        SymbolLibrary all;
        add_contact_symbols(all);
        add_pole_symbols(all);
        add_machine_symbols(all);
        add_two_terminal_symbols(all);
        add_net_symbols(all);
        add_frame_symbols(all);
        add_plan_symbols(all);
        add_single_line_symbols(all);
        return all;
    }();
    return library.find(name)->second;
}

std::vector<Symbol> used_symbols(const std::vector<Sheet> &sheets) {
    std::set<std::string_view> names;
    for (const Sheet &sheet : sheets)
        for (const Insert &insert : sheet.inserts)
            names.insert(insert.symbol);
    std::vector<Symbol> symbols;
    for (const std::string_view name : names)
        symbols.push_back(symbol_shape(name).symbol);
    return symbols;
}

} // namespace stopspan

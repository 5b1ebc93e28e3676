#include "wiring/rung.hpp"

#include <algorithm>

namespace stopspan::wiring {
namespace {

// To two digits after the point: small motors are set in hundredths of an ampere.
double rounded(double value) {
    return static_cast<double>(static_cast<long>(value * 100 + 0.5)) / 100;
}

} // namespace

// Typical coils of small contactors; common practice.
Parameters coil(const CoilRating &rating) {
    Parameters parameters{{"coil_voltage_v", rating.voltage_v},
                          {"coil_current", std::string(rating.direct_current ? "DC" : "AC")}};
    if (rating.direct_current) {
        parameters.emplace("hold_w", 3.0);
    } else {
        parameters.emplace("hold_va", 8.0);
        parameters.emplace("inrush_va", 70.0);
    }
    return parameters;
}

Rung control_of(Bench &bench, const std::string &line, const std::string &back) {
    Draft &draft = bench.site.draft;
    Names &names = bench.names;
    const Machine &machine = bench.machine;
    const auto fuse = [&](const std::string &from) {
        const std::string to = names.next_net();
        draft.add(names.owner(), names.designation('F'), DeviceKind::fuse, {{"1", from}, {"2", to}},
                  {{"rating_a", 2.0}, {"fuse_type", std::string("gG")}});
        return to;
    };
    Rung rung{fuse(line), back, {machine.control_voltage_v, false}};
    if (machine.control == ControlSupply::dc_supply) {
        const std::string plus = names.net("P"), minus = names.net("M");
        draft.add(names.owner(), names.designation('T'), DeviceKind::dc_supply,
                  {{"P", plus}, {"M", minus}, {"ac1", rung.line}, {"ac2", back}},
                  {{"voltage_v", machine.control_voltage_v}, {"earthed_pole", std::string("M")}});
        rung = {fuse(plus), minus, {machine.control_voltage_v, true}};
    } else if (machine.control == ControlSupply::transformer) {
        const std::string s1 = names.net("s1"), s2 = names.net("s2");
        draft.add(names.owner(), names.designation('T'), DeviceKind::transformer,
                  {{"p1", rung.line}, {"p2", back}, {"s1", s1}, {"s2", s2}},
                  {{"primary_v", bench.power.voltage_v},
                   {"secondary_v", machine.control_voltage_v},
                   {"earthed_pole", std::string("s2")}});
        rung = {fuse(s1), s2, {machine.control_voltage_v, false}};
    } else if (machine.control_voltage_v > 1.3 * bench.power.voltage_v && bench.power.three_phase()) {
        rung.back = fuse(bench.power.lines[1]); // 400 V coils stand between two lines
    }
    return rung;
}

Rung control_of(Bench &bench) {
    std::string line = bench.control;
    for (const std::string &isolator : bench.auxiliaries) {
        const std::string to = bench.names.next_net();
        bench.site.draft.contact(isolator, ContactSense::make, line, to);
        line = to;
    }
    return control_of(bench, line, bench.control_back);
}

std::string through_trips(Bench &bench, std::string from, const std::vector<std::string> &overloads) {
    for (const std::string &overload : overloads) {
        const std::string to = bench.names.next_net();
        bench.site.draft.connect(overload, "95", from);
        bench.site.draft.connect(overload, "96", to);
        from = to;
    }
    return from;
}

std::string through_stop_devices(Bench &bench, std::string from) {
    Site &site = bench.site;
    for (const StopId stop : site.plan.stops_on[bench.id.value]) {
        const std::string &device = site.description[stop].name;
        if (bench.machine.starter == Starter::as_found && site.draft.is_recorded(device))
            continue; // it stands where it was found
        const std::string to = bench.names.next_net();
        site.draft.contact(device, ContactSense::break_, from, to);
        from = to;
    }
    return from;
}

std::string through_stops(Bench &bench, std::string from) {
    Site &site = bench.site;
    from = through_stop_devices(bench, through_zones(bench, from));
    const std::string to = bench.names.next_net();
    Parameters parameters{{"role", std::string("stop")}, {"machine", bench.machine.name}};
    if (bench.machine.stop_category == 1)
        parameters.emplace("stop_category", 1.0);
    site.draft.add(bench.names.owner(), bench.names.designation('S'), DeviceKind::push_button,
                   {{"11", from}, {"12", to}}, parameters);
    return to;
}

std::string start_button(Bench &bench, const std::string &from, const std::string &to, const std::string &holds,
                         double rating_a) {
    Draft &draft = bench.site.draft;
    const std::string designation = bench.names.designation('S');
    draft.add(bench.names.owner(), designation, DeviceKind::push_button, {{"13", from}, {"14", to}},
              {{"role", std::string("start")}, {"machine", bench.machine.name}, {"rating_a", rating_a}});
    if (!holds.empty())
        draft.contact(holds, ContactSense::make, from, to);
    return designation;
}

std::string add_armature(Bench &bench, DeviceKind kind, const std::string &a1, const Rung &rung, Parameters more) {
    const std::string designation = bench.names.designation(kind == DeviceKind::contactor ? 'Q' : 'K');
    Parameters parameters = coil(rung.rating);
    parameters.merge(more);
    if (bench.machine.well_tried)
        parameters.emplace("well_tried", true);
    bench.site.draft.add(bench.names.owner(), designation, kind, {{"A1", a1}, {"A2", rung.back}}, parameters);
    return designation;
}

void poles(Draft &draft, const std::string &contactor, const std::vector<std::string> &in,
           const std::vector<std::string> &out) {
    for (std::size_t i = 0; i < in.size(); ++i) {
        draft.connect(contactor, std::to_string(2 * i + 1), in[i]);
        draft.connect(contactor, std::to_string(2 * i + 2), out[i]);
    }
}

std::string add_overload(Bench &bench, const std::vector<std::string> &in, std::vector<std::string> &out,
                         double current_a) {
    const std::string designation = bench.names.designation('F');
    bench.site.draft.add(bench.names.owner(), designation, DeviceKind::overload, {},
                         {{"setting_a", std::max(0.01, rounded(current_a))}, {"reset", std::string("manual")}});
    poles(bench.site.draft, designation, in, out);
    return designation;
}

std::vector<std::string> nets(Bench &bench, const std::vector<std::string> &suffixes) {
    std::vector<std::string> named;
    for (const std::string &suffix : suffixes)
        named.push_back(bench.names.net(suffix));
    return named;
}

Parameters motor_parameters(const Bench &bench, const Motor &motor) {
    Parameters parameters{
        {"power_kw", motor.power_kw}, {"voltage_v", motor.voltage_v}, {"machine", bench.machine.name}};
    const auto plate = [&](std::string_view name, std::optional<double> value) {
        if (value)
            parameters.emplace(name, *value);
    };
    plate("current_a", motor.current_a);
    if (bench.machine.starter == Starter::drive)
        return parameters;
    plate("efficiency", motor.efficiency);
    plate("power_factor", motor.power_factor);
    plate("starting_current_ratio", motor.starting_current_ratio);
    plate("starting_time_s", motor.starting_time_s);
    if (one_phase(bench.machine))
        plate("capacitor_uf", motor.capacitor_uf);
    if (bench.machine.starter == Starter::two_speed) {
        plate("slow_power_kw", motor.slow_power_kw);
        plate("slow_current_a", motor.slow_current_a);
    }
    return parameters;
}

} // namespace stopspan::wiring

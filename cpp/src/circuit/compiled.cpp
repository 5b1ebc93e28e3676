#include "circuit/compiled.hpp"

#include "base/add_unique.hpp"
#include "circuit/kinds.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <unordered_map>

namespace stopspan {
namespace {

constexpr double pi = std::numbers::pi;

// Admittance of S volt-amperes at `rated_v` with this power factor, inductive: Y = S/U^2 at -phi.
std::complex<double> inductive(double volt_amperes, double rated_v, double power_factor) {
    return std::polar(volt_amperes / (rated_v * rated_v), -std::acos(power_factor));
}

// Direct current sees only the resistance of an impedance.
double direct(std::complex<double> admittance) {
    return 1 / (1.0 / admittance).real();
}

class Compiler {
public:
    Compiler(const Circuit &circuit, const CutOutOf *whole)
        : circuit_(circuit), frequency_hz_(whole ? whole->frequency_hz : stopspan::frequency_hz(circuit)) {
        out_.cut_out = whole != nullptr;
        out_.net_names.assign(circuit.nets().begin(), circuit.nets().end());
        out_.variable_of.assign(circuit.devices().size(), none);
        std::vector<std::string> names;
        for (const Device &device : circuit.devices())
            names.push_back(device.designation);
        out_.device_names = Names(std::move(names));
        const auto earth = circuit.find_net("PE");
        out_.earth = earth ? earth->value : extra_net("PE");
    }

    Compiled run() {
        for (std::uint32_t i = 0; i < circuit_.devices().size(); ++i)
            add(i, circuit_.devices()[i]);
        out_.machines = Names(std::move(machines_));
        pair_interlocks();
        out_.net_count = static_cast<std::uint32_t>(out_.net_names.size());
        for (Source &source : out_.sources)
            if (source.feed == Source::Feed::transformer && source.primary_v == 0)
                source.primary_v = usual_primary_v(source);
        return std::move(out_);
    }

private:
    std::uint32_t extra_net(std::string name) {
        out_.net_names.push_back(std::move(name));
        return static_cast<std::uint32_t>(out_.net_names.size() - 1);
    }

    std::uint32_t variable(Variable::Kind kind, std::uint32_t device, double fuse_rating_a = 0) {
        const auto index = static_cast<std::uint32_t>(out_.variables.size());
        out_.variables.push_back({kind, device});
        out_.fuse_rating_a.push_back(fuse_rating_a);
        if (out_.variable_of[device] == none)
            out_.variable_of[device] = index;
        return index;
    }

    std::uint32_t net(const Device &device, std::string_view terminal) const {
        const auto found = device.net_of(terminal);
        return found ? found->value : none;
    }

    void impedance(std::uint32_t device, std::uint32_t a, std::uint32_t b, std::complex<double> ac, double dc) {
        out_.impedances.push_back({.a = a, .b = b, .ac_out = ac, .ac_in = ac, .dc = dc, .device = device});
    }

    void add(std::uint32_t index, const Device &device) {
        using enum DeviceKind;
        switch (device.kind) {
        case mains_3ph:
        case mains_1ph:
            add_mains(index, device);
            break;
        case dc_supply:
            add_dc_supply(index, device);
            break;
        case transformer:
            add_transformer(index, device);
            break;
        case isolator:
            add_contacts(index, device, variable(Variable::Kind::isolator, index));
            break;
        case fuse: {
            // 6 A: usual control fuse, common practice; decides only which of two fuses opens in one short.
            const double rating_a = device.number("rating_a").value_or(6);
            add_switch(index, net(device, "1"), net(device, "2"), variable(Variable::Kind::fuse, index, rating_a), 1);
            break;
        }
        case overload:
            add_contacts(index, device, variable(Variable::Kind::overload, index));
            break;
        case push_button:
        case selector:
        case key_switch:
        case pedal:
        case floor_bar:
        case pull_wire:
        case emergency_stop:
        case guard_switch:
            add_contacts(index, device, variable(Variable::Kind::actuator, index));
            break;
        case contactor:
        case relay:
        case timer:
        case latched_contactor:
        case stop_relay:
        case insulation_monitor:
            add_armature(index, device);
            break;
        case motor_1ph:
        case motor_3ph:
        case motor_6lead:
        case motor_2speed:
        case drive:
            add_motor(index, device);
            break;
        case lamp:
        case load:
            add_load(index, device);
            break;
        case resistor: {
            const double conductance = 1 / device.number("resistance_ohm").value();
            impedance(index, net(device, "1"), net(device, "2"), conductance, conductance);
            break;
        }
        case capacitor: {
            const double farad = device.number("capacitance_uf").value() * 1e-6;
            impedance(index, net(device, "1"), net(device, "2"), {0, 2 * pi * frequency_hz_ * farad}, 0);
            break;
        }
        case cable:
            add_cable(index, device);
            break;
        case link:
            add_switch(index, net(device, "1"), net(device, "2"), none, 0xff);
            break;
        }
    }

    void add_switch(std::uint32_t device, std::uint32_t a, std::uint32_t b, std::uint32_t var, std::uint8_t closed_at,
                    bool pole = false, std::uint32_t terminal = 0) {
        out_.switches.push_back({.a = a,
                                 .b = b,
                                 .variable = var,
                                 .closed_at = closed_at,
                                 .pole = pole,
                                 .device = device,
                                 .terminal = terminal});
    }

    void add_contacts(std::uint32_t index, const Device &device, std::uint32_t var, std::uint32_t timed = none) {
        const KindRule &rule = kind_rule(device.kind);
        for (std::uint32_t t = 0; t < device.terminals.size(); ++t) {
            const auto contact = contact_terminal(rule, device.terminals[t].name);
            if (!contact || !contact->first)
                continue;
            const std::uint32_t a = device.terminals[t].net.value;
            // Mostly the next one; a stop of a whole site has thousands of contacts.
            const bool next = t + 1 < device.terminals.size() && device.terminals[t + 1].name == contact->partner;
            const std::uint32_t b = next ? device.terminals[t + 1].net.value : net(device, contact->partner);
            const auto put = [&](std::uint32_t which, std::uint8_t closed_at, bool pole = false) {
                add_switch(index, a, b, which, closed_at, pole, t);
            };
            const bool isolator = device.kind == DeviceKind::isolator;
            switch (contact->sense) {
            case ContactSense::pole:
                if (isolator)
                    put(var, 0b101, true);
                else if (device.kind == DeviceKind::overload)
                    put(none, 0xff, true);
                else
                    put(var, 0b010, true);
                break;
            // An isolator at rest is closed: its make contact is closed with it, its break contact open.
            case ContactSense::make:
                put(var, isolator ? 0b001 : 0b010);
                break;
            case ContactSense::break_:
                put(var, isolator ? 0b010 : 0b001);
                break;
            case ContactSense::trip_break:
                put(var, 0b001);
                break;
            case ContactSense::trip_make:
                put(var, 0b010);
                break;
            case ContactSense::delayed_make:
                put(timed, 0b010);
                break;
            case ContactSense::delayed_break:
                put(timed, 0b001);
                break;
            }
        }
    }

    // ---- sources

    void finish_source(Source source, const Device &device) {
        const std::string_view earthed = earthed_pole_of(device);
        for (std::uint32_t i = 0; i < source.poles.size(); ++i)
            if (source.poles[i].name == earthed)
                source.earthed = i;
        if (!source.poles.empty()) {
            const std::uint32_t zero =
                source.earthed != none ? source.earthed : static_cast<std::uint32_t>(source.poles.size() - 1);
            const Volts offset = source.poles[zero].volts;
            for (Source::Pole &pole : source.poles)
                pole.volts = pole.volts - offset;
        }
        out_.sources.push_back(std::move(source));
    }

    void add_mains(std::uint32_t index, const Device &device) {
        Source source{.device = index, .variable = variable(Variable::Kind::source, index), .poles = {}};
        const double volts = device.number("voltage_v").value_or(230);
        const auto pole = [&](std::string_view name, double degrees, double magnitude) {
            if (const auto at = device.net_of(name))
                source.poles.push_back({at->value, {std::polar(magnitude, degrees * pi / 180), 0}, std::string(name)});
        };
        if (device.kind == DeviceKind::mains_3ph) {
            pole("L1", 0, volts);
            pole("L2", -120, volts);
            pole("L3", 120, volts);
        } else {
            pole("L", 0, volts);
        }
        pole("N", 0, 0);
        // An earthed neutral that is not brought out still holds the line poles to earth.
        if (!device.net_of("N") && earthed_pole_of(device) == "N")
            source.poles.push_back({out_.earth, {}, "N"});
        finish_source(std::move(source), device);
    }

    void add_dc_supply(std::uint32_t index, const Device &device) {
        Source source{.device = index, .variable = variable(Variable::Kind::source, index), .poles = {}};
        const double volts = device.number("voltage_v").value();
        source.poles = {{net(device, "P"), {0, volts}, "P"}, {net(device, "M"), {}, "M"}};
        source.feed_a = net(device, "ac1");
        source.feed_b = net(device, "ac2");
        source.feed = source.feed_a == none ? Source::Feed::own : Source::Feed::ac_to_dc;
        if (const auto watts = device.number("power_w"))
            source.short_circuit_a = *watts / volts; // electronic supplies limit near their rated current
        feed(index, source);
        finish_source(std::move(source), device);
    }

    void add_transformer(std::uint32_t index, const Device &device) {
        Source source{.device = index, .variable = variable(Variable::Kind::source, index), .poles = {}};
        const double volts = device.number("secondary_v").value();
        source.poles = {{net(device, "s1"), {volts, 0}, "s1"}, {net(device, "s2"), {}, "s2"}};
        source.feed_a = net(device, "p1");
        source.feed_b = net(device, "p2");
        source.feed = source.feed_a == none ? Source::Feed::own : Source::Feed::transformer;
        source.primary_v = device.number("primary_v").value_or(0);
        // Ten times rated current: short-circuit voltage of a small control transformer about 10 %, assumption.
        if (const auto rating_va = device.number("rating_va"))
            source.short_circuit_a = 10 * *rating_va / volts;
        feed(index, source);
        finish_source(std::move(source), device);
    }

    // An unloaded primary or supply input, far above any coil: with one side open it follows the other.
    void feed(std::uint32_t index, Source &source) {
        if (source.feed_a == none)
            return;
        constexpr double siemens = 1e-6;
        source.feed_part = static_cast<std::uint32_t>(out_.impedances.size());
        impedance(index, source.feed_a, source.feed_b, siemens, siemens);
    }

    // Rated primary voltage when nobody declared it: the usual one nearest to what the healthy circuit gives.
    double usual_primary_v(const Source &source) const {
        const auto nearest_pole = [&](std::uint32_t from) {
            std::vector<std::uint32_t> nets{from};
            for (std::size_t k = 0; k < nets.size(); ++k) {
                for (const Source &other : out_.sources)
                    for (const Source::Pole &pole : other.poles)
                        if (pole.net == nets[k] && other.feed == Source::Feed::own)
                            return pole.volts;
                for (const Switch &contact : out_.switches)
                    for (const auto &[a, b] : {std::pair{contact.a, contact.b}, {contact.b, contact.a}})
                        if (a == nets[k] && std::find(nets.begin(), nets.end(), b) == nets.end())
                            nets.push_back(b);
            }
            return Volts{};
        };
        return (nearest_pole(source.feed_a) - nearest_pole(source.feed_b)).rms() > 315 ? 400 : 230;
    }

    // ---- armatures

    void coil(std::uint32_t index, const Device &device, std::uint32_t armature, std::uint32_t a, std::uint32_t b) {
        const double volts = device.number("coil_voltage_v").value();
        Impedance coil{.a = a, .b = b, .ac_out = {}, .ac_in = {}, .armature = armature, .device = index};
        if (device.word("coil_current") == "DC") {
            const auto hold_w = device.number("hold_w");
            coil.unknown_coil = !hold_w;
            coil.dc = hold_w.value_or(3) / (volts * volts);
            coil.ac_out = coil.ac_in = coil.dc;
        } else {
            const auto hold_va = device.number("hold_va");
            coil.unknown_coil = !hold_va;
            coil.ac_out = inductive(device.number("inrush_va").value_or(70), volts, 0.75);
            coil.ac_in = inductive(hold_va.value_or(8), volts, 0.3);
            coil.dc = direct(coil.ac_in);
        }
        out_.impedances.push_back(coil);
    }

    void add_armature(std::uint32_t index, const Device &device) {
        const auto number = static_cast<std::uint32_t>(out_.armatures.size());
        Armature armature;
        armature.device = index;
        armature.variable = variable(Variable::Kind::armature, index);
        armature.rated_v = device.number("coil_voltage_v").value_or(0);
        armature.dc_coil = device.word("coil_current") == "DC";
        armature.unknown_coil = !device.number(armature.dc_coil ? "hold_w" : "hold_va");
        switch (device.kind) {
        case DeviceKind::latched_contactor:
            armature.kind = Armature::Kind::latched;
            armature.a1 = net(device, "C1");
            armature.a2 = net(device, "C2");
            armature.e1 = net(device, "E1");
            armature.e2 = net(device, "E2");
            coil(index, device, number, armature.e1, armature.e2);
            break;
        case DeviceKind::insulation_monitor:
            armature.kind = Armature::Kind::monitor;
            armature.a1 = net(device, "L");
            armature.a2 = net(device, "PE");
            break;
        case DeviceKind::stop_relay:
            add_stop_relay(index, device, armature);
            break;
        default:
            armature.a1 = net(device, "A1");
            armature.a2 = net(device, "A2");
        }
        if (device.kind == DeviceKind::timer) {
            armature.timed = variable(Variable::Kind::timed, index);
            armature.off_delay = device.word("delay") == "off";
        }
        if (armature.kind != Armature::Kind::monitor)
            coil(index, device, number, armature.a1, armature.a2);
        add_contacts(index, device, armature.variable, armature.timed);
        out_.armatures.push_back(std::move(armature));
    }

    void add_stop_relay(std::uint32_t index, const Device &device, Armature &armature) {
        armature.kind = Armature::Kind::stop_relay;
        armature.a1 = net(device, "A1");
        armature.a2 = net(device, "A2");
        // A channel that is declared and not wired is open for good; one beyond those declared is not watched.
        const auto declared = device.number("channels");
        double channel = 0;
        for (const auto &[from, to] : {std::pair{"S11", "S12"}, {"S21", "S22"}}) {
            if (declared && ++channel > *declared)
                break;
            if (device.net_of(from))
                armature.inputs.emplace_back(net(device, from), net(device, to));
            else
                armature.input_missing |= declared.has_value();
        }
        if (armature.inputs.size() > 1)
            for (std::size_t i = 0; i < armature.inputs.size(); ++i)
                armature.channels_in.push_back(variable(Variable::Kind::memory, index));
        armature.reset = {net(device, "S33"), net(device, "S34")};
        armature.feedback = {net(device, "Y1"), net(device, "Y2")};
        armature.automatic = device.word("reset") == "automatic" || armature.reset.first == none;
        armature.memory = variable(Variable::Kind::memory, index);
    }

    void pair_interlocks() {
        std::unordered_map<std::uint32_t, std::uint32_t> armature_of;
        for (std::uint32_t i = 0; i < out_.armatures.size(); ++i)
            armature_of.emplace(out_.armatures[i].device, i);
        for (std::uint32_t self = 0; self < out_.armatures.size(); ++self) {
            const auto name = circuit_.devices()[out_.armatures[self].device].word("interlocked_with");
            const auto partner = name ? circuit_.find(*name) : std::nullopt;
            const auto other = partner ? armature_of.find(partner->value) : armature_of.end();
            if (other == armature_of.end() || other->second == self)
                continue;
            add_unique(out_.armatures[self].interlocked, other->second);
            add_unique(out_.armatures[other->second].interlocked, self);
        }
    }

    // ---- loads

    void add_motor(std::uint32_t index, const Device &device) {
        std::string machine_name(machine_of(device));
        const auto [machine, fresh] =
            machine_number_.try_emplace(machine_name, static_cast<std::uint32_t>(machines_.size()));
        if (fresh)
            machines_.push_back(std::move(machine_name));
        const bool one_phase = device.kind == DeviceKind::motor_1ph;
        MotorSeen motor{.kind = device.kind,
                        .device = index,
                        .machine = machine->second,
                        .rated_v = device.number("voltage_v").value_or(one_phase ? 230 : 400),
                        .nets = {},
                        .windings = {}};
        // Apparent power at efficiency 0.8 and power factor 0.8, both assumed: windings only matter where a motor
        // feeds back into a circuit that has lost its own supply.
        const double volt_amperes = device.number("power_kw").value_or(1) * 1000 / 0.64;
        const std::complex<double> admittance = inductive(volt_amperes, motor.rated_v, 0.8);
        const auto winding = [&](std::uint32_t a, std::uint32_t b, std::complex<double> y, double rated_v) {
            impedance(index, a, b, y, direct(y));
            motor.windings.push_back({a, b, rated_v});
        };
        const auto star = [&](std::uint32_t u, std::uint32_t v, std::uint32_t w) {
            const std::uint32_t point = extra_net(device.designation + " star point");
            for (const std::uint32_t end : {u, v, w})
                winding(end, point, admittance, motor.rated_v / std::numbers::sqrt3);
        };
        const auto nets = [&](std::initializer_list<std::string_view> names) {
            for (const std::string_view name : names)
                motor.nets.push_back(net(device, name));
        };
        switch (device.kind) {
        case DeviceKind::motor_1ph:
            nets({"L", "N"});
            winding(motor.nets[0], motor.nets[1], admittance, motor.rated_v);
            break;
        case DeviceKind::motor_3ph:
            nets({"U", "V", "W"});
            star(motor.nets[0], motor.nets[1], motor.nets[2]);
            break;
        case DeviceKind::motor_6lead:
            nets({"U1", "V1", "W1", "U2", "V2", "W2"});
            for (std::size_t i = 0; i < 3; ++i)
                winding(motor.nets[i], motor.nets[i + 3], admittance / 3.0, motor.rated_v);
            break;
        case DeviceKind::motor_2speed:
            nets({"U1", "V1", "W1", "U2", "V2", "W2"});
            motor.slow_joined = device.word("slow_ends").value_or("joined") == "joined";
            if (motor.slow_joined) {
                const std::array ring{0, 3, 1, 4, 2, 5};
                for (std::size_t i = 0; i < 6; ++i)
                    winding(motor.nets[ring[i]], motor.nets[ring[(i + 1) % 6]], admittance, motor.rated_v / 2);
            } else {
                star(motor.nets[0], motor.nets[1], motor.nets[2]);
                star(motor.nets[3], motor.nets[4], motor.nets[5]);
            }
            break;
        default: // drive
            nets({"R", "S", "T"});
            star(motor.nets[0], motor.nets[1], motor.nets[2]);
            motor.run = {net(device, "RUN1"), net(device, "RUN2")};
            motor.torque_off = {net(device, "STO1"), net(device, "STO2")};
            motor.waits = device.word("on_power_return") == "waits";
            if (motor.waits)
                motor.memory = variable(Variable::Kind::memory, index);
        }
        out_.motors.push_back(std::move(motor));
    }

    void add_load(std::uint32_t index, const Device &device) {
        const double volts = device.number("voltage_v").value_or(230);
        const double amperes = device.number("current_a").value_or(device.kind == DeviceKind::lamp ? 0.02 : 1);
        const std::uint32_t a = net(device, "1"), b = net(device, "2");
        impedance(index, a, b, amperes / volts, amperes / volts);
        out_.loads.push_back({index, a, b, volts, device.flag("kept", false)});
    }

    void add_cable(std::uint32_t index, const Device &device) {
        const auto length_m = device.number("length_m"), csa_mm2 = device.number("csa_mm2");
        const bool ideal = !length_m || !csa_mm2 || *length_m == 0;
        for (const auto &[near, far] : cores_of(device)) {
            // R = l / (58 A), annealed copper at 20 degC, IEC 60028.
            const double conductance = ideal ? 0 : 58 * *csa_mm2 / *length_m;
            if (ideal)
                add_switch(index, near.value, far.value, none, 0xff);
            else
                impedance(index, near.value, far.value, conductance, conductance);
        }
    }

    const Circuit &circuit_;
    double frequency_hz_;
    std::vector<std::string> machines_;
    std::unordered_map<std::string, std::uint32_t> machine_number_;
    Compiled out_;
};

} // namespace

double frequency_hz(const Circuit &circuit) {
    for (const Device &device : circuit.devices())
        if (is_source(device.kind))
            if (const auto frequency = device.number("frequency_hz"))
                return *frequency;
    return 50;
}

Compiled compile(const Circuit &circuit, const CutOutOf *whole) {
    return Compiler(circuit, whole).run();
}

} // namespace stopspan

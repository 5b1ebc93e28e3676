#include "base/number_text.hpp"
#include "ratings/conductor.hpp"
#include "ratings/contact_rating.hpp"
#include "ratings/control_line.hpp"
#include "ratings/control_loops.hpp"

#include <algorithm>
#include <cmath>

namespace stopspan::ratings {
namespace {

// DESIGN 4.2; IEC 60947-4-1.
constexpr double pulls_in = 0.85, highest = 1.1, drops_ac = 0.2;
constexpr double inrush_power_factor = 0.75;
constexpr double copper_m_per_ohm_mm2 = 58;

/// The loop of one coil.
class LoopSizing {
public:
    LoopSizing(Ground &ground, const Coil &coil)
        : ground_(ground), coil_(coil), device_(ground.device(ground.compiled.armatures[coil.armature].device)) {}

    void size() {
        if (coil_.fed_v)
            size_match();
        measure();
        if (length_m_ > 0 && coil_.fed_v)
            size_loop();
    }

    /// None where its length is not known, or stands in the circuit as cables.
    std::optional<ControlLine> line() {
        measure();
        if (placed_ == 0 || !coil_.fed_v)
            return std::nullopt;
        ControlLine line{device_.designation,
                         pull_in(),
                         "its control line of " + format_fixed(length_m_, 0) + " m one way by the plan, of " +
                             format_number(ground_.options.control_csa_mm2) + " mm2" +
                             (coil_.inrush_known ? ""
                                                 : ", its inrush of " + format_number(coil_.inrush_va) +
                                                       (coil_.direct_current ? " W" : " VA") + " assumed"),
                         {}};
        if (!coil_.direct_current)
            for (const auto &[stop, metres] : legs_) {
                const double left_v =
                    volts_left_v(coil_.rated_v, coil_.hold_va, capacitance_uf(metres), frequency_hz(ground_.circuit));
                line.stops.push_back(
                    {stop, left_v / coil_.rated_v,
                     "its cable of " + format_fixed(metres, 0) + " m by the plan" +
                         (coil_.hold_known ? ""
                                           : ", the coil's hold of " + format_number(coil_.hold_va) + " VA assumed")});
            }
        return line;
    }

private:
    std::string quantity(std::string text) const { return coil_.tripping ? text + ", tripping coil" : text; }

    Size start(std::string what, double value, std::string unit, std::string formula) const {
        return {.subject = device_.designation,
                .quantity = quantity(std::move(what)),
                .value = value,
                .unit = std::move(unit),
                .formula = std::move(formula)};
    }

    void size_match() {
        Size size =
            start("coil voltage against its supply", 100 * *coil_.fed_v / coil_.rated_v, "%", "U supply / U coil");
        size.inputs = {from_device(device_, "coil_voltage_v", "V"),
                       {"supply", *coil_.fed_v, "V", Origin::wired, "poles it is led to"}};
        size.source = "IEC 60947-4-1 8.2.1.2 (0.85 to 1.10)";
        const double ratio = *coil_.fed_v / coil_.rated_v;
        const bool kind = coil_.fed_direct_current == coil_.direct_current;
        size.fit = kind && ratio >= pulls_in && ratio <= highest ? Fit::fits : Fit::does_not_fit;
        if (!kind)
            size.remark = std::string("A coil for ") + (coil_.direct_current ? "direct" : "alternating") +
                          " current on " + (coil_.fed_direct_current ? "direct" : "alternating") + " current.";
        ground_.add(std::move(size));
    }

    // From cables in the loop where there are any, else from the places of its hand devices.
    void measure() {
        std::set<std::uint32_t> devices;
        double core_m = 0;
        for (const std::uint32_t i : coil_.loop) {
            const std::uint32_t index = ground_.compiled.switches[i].device;
            const Device &device = ground_.device(index);
            if (device.kind == DeviceKind::cable) {
                const auto length = device.number("length_m"), csa = device.number("csa_mm2");
                if (!length)
                    ground_.unknown(device.designation, "length_m", "the loop of " + device_.designation);
                core_m += length.value_or(0);
                if (length && *length > 0 && csa) {
                    resistance_ohm_ += *length / (copper_m_per_ohm_mm2 * *csa);
                    sized_m_ += *length;
                }
            } else if (is_actuator(device.kind)) {
                devices.insert(index);
            }
        }
        if (core_m > 0) {
            length_m_ = core_m / 2;
            inputs_.push_back({"loop, one way", length_m_, "m", Origin::wired, "its cables"});
            resistance_ohm_ += (core_m - sized_m_) * ohm_per_m();
            return;
        }
        measure_on_plan(devices);
        resistance_ohm_ = 2 * length_m_ * ohm_per_m();
    }

    static double power_factor(const Coil &coil) { return coil.direct_current ? 1 : inrush_power_factor; }

    // Through the resistance of the loop flows the current that the coil takes at its rated voltage, as in the makers'
    // formulas: a little more than it does.
    double pull_in() const {
        const double drop_v = resistance_ohm_ * coil_.inrush_va / coil_.rated_v * power_factor(coil_);
        return (*coil_.fed_v - drop_v) / coil_.rated_v;
    }

    double capacitance_uf(double metres) const { return ground_.options.cable_capacitance_uf_per_km * metres / 1000; }

    double ohm_per_m() const { return resistance_ohm_per_km(ground_.options.control_csa_mm2, false, 20) / 1000; }

    // Every place is led to by a cable of its own from the board: what is assumed of wiring in a star.
    void measure_on_plan(const std::set<std::uint32_t> &devices) {
        const Board *board = nullptr;
        std::set<std::pair<double, double>> places;
        std::vector<std::string> unplaced;
        for (const std::uint32_t index : devices) {
            const Device &device = ground_.device(index);
            const StopDevice *stop = ground_.stop(device.designation);
            const Machine *machine = ground_.machine(stopspan::machine_of(device));
            const auto at = stop ? ground_.description.place_of(*stop) : machine ? machine->at : std::nullopt;
            const std::optional<AreaId> area = stop      ? std::optional(stop->area)
                                               : machine ? std::optional(machine->area)
                                                         : std::nullopt;
            if (!area)
                continue;
            if (!board)
                if (const auto id =
                        machine ? ground_.description.board_of(*machine) : ground_.description.board_of(*area))
                    board = &ground_.description[*id];
            if (!board || !board->area)
                continue;
            const auto way_m = at ? ground_.way_m(*board->area, board->at, *area, *at) : std::nullopt;
            if (!way_m) {
                unplaced.push_back(device.designation);
                continue;
            }
            if (places.emplace(at->x_m, at->y_m).second) // one cable leads to all that is there
                length_m_ += *way_m;
            if (stop)
                legs_.emplace_back(stop->name, *way_m);
            ++placed_;
        }
        if (placed_ == 0)
            return;
        inputs_.push_back(
            {"loop, one way", length_m_, "m", Origin::plan,
             "board " + board->name + " to " + std::to_string(placed_) +
                 " hand devices along the walls, 2 m down at either end, a cable to each place (assumed)"});
        if (!unplaced.empty()) {
            std::string names;
            for (const std::string &each : unplaced)
                names += (names.empty() ? "" : ", ") + each;
            left_out_ = "Not counted, on another floor or not on the plan: " + names + ".";
            ground_.unknown(device_.designation, "cable length to " + names, "the whole of its loop");
        }
    }

    void size_loop() {
        const std::vector<SizeInput> inrush = coil_inputs(ground_, coil_, true);
        const double factor = power_factor(coil_);
        const SizeInput csa = assumed("control_csa_mm2", ground_.options.control_csa_mm2, "mm2", "of the whole call");
        const auto with = [&](Size &size, const std::vector<SizeInput> &own) {
            size.inputs = inputs_;
            size.inputs.insert(size.inputs.end(), own.begin(), own.end());
            if (sized_m_ == 0)
                size.inputs.push_back(csa);
        };
        const double left_percent = 100 * pull_in();
        Size pull_in = start("volts at pull-in", left_percent, "%", "(U supply - R loop S / U cos phi) / U coil");
        with(pull_in, inrush);
        pull_in.source = "a contactor maker's manual (l = 5 U^2 u / (R S cos phi)); IEC 60947-4-1 8.2.1.2";
        pull_in.fit = left_percent >= 100 * pulls_in ? Fit::fits : Fit::does_not_fit;
        if (pull_in.fit == Fit::does_not_fit)
            pull_in.remark = "Take thicker wires, an auxiliary relay near the contactor, or a higher control voltage.";
        add_remark(pull_in, left_out_);
        ground_.add(std::move(pull_in));

        const double wire_ohm_per_km = length_m_ > 0 ? resistance_ohm_ / (2 * length_m_) * 1000 : ohm_per_m() * 1000;
        const double by_drop_m = longest_by_drop_m(coil_.rated_v, ground_.options.control_drop_percent, wire_ohm_per_km,
                                                   coil_.inrush_va, factor);
        Size drop = start("longest loop by voltage drop", by_drop_m, "m", "5 U^2 u / (R S cos phi), one way");
        with(drop, inrush);
        drop.inputs.push_back(assumed("u", ground_.options.control_drop_percent, "%", "of the whole call"));
        drop.as_wired = length_m_;
        drop.source = "a contactor maker's manual; drop allowed: common practice";
        drop.fit = length_m_ <= by_drop_m ? Fit::fits : Fit::does_not_fit;
        if (drop.fit == Fit::does_not_fit)
            drop.remark = "Take wires of " + format_fixed(ground_.options.control_csa_mm2 * length_m_ / by_drop_m, 2) +
                          " mm2 or more, or an auxiliary relay near the contactor.";
        ground_.add(std::move(drop));
        if (!coil_.direct_current)
            size_capacitance();
    }

    void size_capacitance() {
        const double hertz = frequency_hz(ground_.circuit), per_km = ground_.options.cable_capacitance_uf_per_km;
        const std::vector<SizeInput> hold = coil_inputs(ground_, coil_, false);
        const double all_uf = capacitance_uf(length_m_);
        const double left_v = volts_left_v(coil_.rated_v, coil_.hold_va, all_uf, hertz);
        const auto with = [&](Size &size) {
            size.inputs = inputs_;
            size.inputs.insert(size.inputs.end(), hold.begin(), hold.end());
            size.inputs.push_back(assumed("capacitance", per_km, "uF/km", "between two cores, of the whole call"));
            size.source = "two makers' notes on long control lines; drop-out 20 %: IEC 60947-4-1";
        };
        const double resonance_percent = 1000; // beyond this the figure says no more than "held"
        Size left =
            start("volts left after a stop",
                  std::isfinite(left_v) ? std::min(resonance_percent, 100 * left_v / coil_.rated_v) : resonance_percent,
                  "%", "x / (1 - x), x = XL / XC; all of its cables in parallel to the opened contact");
        with(left);
        left.fit = left.value < 100 * drops_ac ? Fit::fits : Fit::does_not_fit;
        if (left.fit == Fit::does_not_fit)
            left.remark = "It may stay in: take a coil for direct current, an auxiliary relay near the contactor, or a "
                          "resistor of " +
                          format_fixed(bleeder_ohm(all_uf), 0) + " ohm beside the coil.";
        add_remark(left, left_out_);
        ground_.add(std::move(left));
        const double longest_m = longest_by_capacitance_m(coil_.rated_v, coil_.hold_va, drops_ac, per_km, hertz);
        Size longest =
            start("longest loop by capacitance", longest_m, "m", "m/(1+m) PH 10^9 / (2 pi f r U^2), m = 0.2");
        with(longest);
        longest.as_wired = length_m_;
        longest.fit = length_m_ <= longest_m ? Fit::fits : Fit::does_not_fit;
        ground_.add(std::move(longest));
    }

    Ground &ground_;
    const Coil &coil_;
    const Device &device_;
    double length_m_ = 0, resistance_ohm_ = 0, sized_m_ = 0;
    std::size_t placed_ = 0;
    std::vector<SizeInput> inputs_;
    std::vector<std::pair<std::string, double>> legs_; ///< stop devices, each with the length of its cable
    std::string left_out_;
};

} // namespace

void size_coils(Ground &ground) {
    for (const Coil &coil : coils_of(ground))
        LoopSizing(ground, coil).size();
}

std::vector<ControlLine> lines_of_coils(Ground &ground) {
    std::vector<ControlLine> lines;
    for (const Coil &coil : coils_of(ground))
        if (auto line = LoopSizing(ground, coil).line())
            lines.push_back(std::move(*line));
    return lines;
}

// What the contacts of control circuits switch: the coils in whose loops they stand, taken together.
void size_control_contacts(Ground &ground) {
    struct Switched {
        double sealed_a = 0, more_a = 0, volts = 0;
        std::size_t coils = 0;
        bool direct_current = false;
    };
    std::map<std::uint32_t, Switched> by_contact;
    for (const Coil &coil : coils_of(ground))
        for (const std::uint32_t i : coil.loop) {
            const Switch &contact = ground.compiled.switches[i];
            if (contact.variable == none || contact.pole || !coil.fed_v)
                continue;
            Switched &all = by_contact[i];
            all.sealed_a += coil.hold_va / coil.rated_v;
            all.more_a = std::max(all.more_a, (coil.inrush_va - coil.hold_va) / coil.rated_v);
            all.volts = std::max(all.volts, coil.rated_v);
            all.direct_current |= coil.direct_current;
            ++all.coils;
        }
    std::map<std::uint32_t, Switched> by_device; // the contact that switches most
    for (const auto &[i, all] : by_contact) {
        const std::uint32_t device = ground.compiled.switches[i].device;
        const DeviceKind kind = ground.device(device).kind;
        if (!is_actuator(kind) && !has_armature(kind))
            continue;
        Switched &most = by_device[device];
        if (all.sealed_a + all.more_a > most.sealed_a + most.more_a)
            most = all;
    }
    for (const auto &[index, all] : by_device) {
        const Device &device = ground.device(index);
        const double make_a = all.sealed_a + all.more_a;
        const std::string category = all.direct_current ? "DC-13" : "AC-15";
        Size size{.subject = device.designation,
                  .quantity = "control current " + category,
                  .value = all.sealed_a,
                  .unit = "A",
                  .formula = "sum of sealed currents; made: and the inrush of the largest coil",
                  .inputs = {{"coils behind it", static_cast<double>(all.coils), "", Origin::wired, "the circuit"},
                             {"voltage", all.volts, "V", Origin::plate, "of the coils"},
                             {"made", make_a, "A", Origin::computed, "coils behind it"}},
                  .source = "IEC 60947-5-1 annex A (rating codes)"};
        if (const auto code = weakest_code(all.direct_current, all.volts, make_a, all.sealed_a))
            size.choice = "rating " + std::string(*code) + " or stronger";
        else
            size.remark = "No rating code carries this: divide what hangs on it among several contacts.";
        if (const auto code = device.word("contact_rating"); code && is_direct_current(*code) == all.direct_current) {
            const auto rating = contact_rating(*code, all.volts);
            size.fit =
                rating && rating->make_a >= make_a && rating->break_a >= all.sealed_a ? Fit::fits : Fit::does_not_fit;
        }
        ground.add(std::move(size));
    }
}

} // namespace stopspan::ratings

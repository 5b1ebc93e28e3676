#include "base/number_text.hpp"
#include "installation/cable_way.hpp"
#include "ratings/branch.hpp"
#include "ratings/cable_check.hpp"
#include "ratings/conductor.hpp"
#include "ratings/conductor_tables.hpp"
#include "ratings/fault_loop.hpp"
#include "ratings/protection.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace stopspan::ratings {
namespace {

/// The cable of one motor: as wired, or in a description from the starter at its machine.
class CableSizing {
public:
    CableSizing(Ground &ground, std::uint32_t path)
        : ground_(ground), path_(path), device_(ground.motor_device(path)), motor_(ground.motors[path]),
          branch_(branch_of(ground, path)), machine_(ground.machine_of_path(path)) {}

    void size() {
        read_wired_cables();
        read_supply();
        find_length();
        find_laying();
        find_loads();
        read_feeders();
        choose();
    }

private:
    bool three_phase() const { return device_.kind != DeviceKind::motor_1ph; }
    CableJudged judge(double csa_mm2) const {
        return judge_cable({.three_phase = three_phase(),
                            .to_earth_v = to_earth_v_,
                            .running_a = design_a_,
                            .start_a = std::max(design_a_, motor_.start_a * share_),
                            .must_carry_a = must_carry_->value,
                            .power_factor = power_factor_.value,
                            .length_m = length_ ? std::optional(length_->value) : std::nullopt,
                            .method = method_,
                            .ambient_c = ambient_.value,
                            .grouping = grouping_.value,
                            .source_ohm = source_.value + feeder_ohm_,
                            .feeder_running_v = feeder_running_v_,
                            .feeder_starting_v = feeder_starting_v_,
                            .protection_type = branch_.type,
                            .protection_a = branch_.rating_a,
                            .running_drop_percent = ground_.options.running_drop_percent,
                            .starting_drop_percent = ground_.options.starting_drop_percent},
                           csa_mm2);
    }

    // Of its own in a row: lengths add up, the thinnest counts. Those it shares with others are feeders.
    void read_wired_cables() {
        std::set<std::uint32_t> seen;
        for (const Element &element : ground_.paths[path_].elements) {
            const std::uint32_t index = ground_.compiled.switches[element.contact].device;
            const Device &cable = ground_.device(index);
            if (cable.kind != DeviceKind::cable || !seen.insert(index).second)
                continue;
            if (ground_.behind.at(index).size() > 1) {
                feeders_.push_back(index);
                continue;
            }
            cables_.push_back(&cable);
            share_ = std::min(share_, element.share);
        }
        for (const Device *cable : cables_)
            if (const auto csa = cable->number("csa_mm2"))
                wired_mm2_ = std::min(wired_mm2_.value_or(*csa), *csa);
            else
                ground_.unknown(cable->designation, "csa_mm2", "whether it carries " + device_.designation);
    }

    void read_supply() {
        for (const std::uint32_t index : ground_.paths[path_].sources) {
            const Device &source = ground_.device(ground_.compiled.sources[index].device);
            if (source.kind != DeviceKind::mains_3ph && source.kind != DeviceKind::mains_1ph)
                continue;
            to_earth_v_ = source.number("voltage_v").value_or(usual_to_earth_v);
            if (const auto ohm = source.number("impedance_ohm")) {
                source_ = from_device(source, "impedance_ohm", "ohm");
            } else {
                ground_.unknown(source.designation, "impedance_ohm",
                                "fault loops are worked out with " +
                                    format_number(ground_.options.source_impedance_ohm) + " ohm");
            }
            return;
        }
    }

    void find_length() {
        double wired_m = 0;
        bool all = !cables_.empty();
        for (const Device *cable : cables_) {
            all &= cable->number("length_m").has_value();
            wired_m += cable->number("length_m").value_or(0);
        }
        if (all) {
            length_ = SizeInput{"cable length", wired_m, "m", Origin::wired, cables_.front()->designation};
            return;
        }
        if (cables_.empty() && machine_ && ground_.ahead.contains(machine_))
            length_ = assumed("cable length", cable_way_m({}, {}), "m", "from the starter at its machine");
        else if (machine_ && machine_->cable_length_m)
            length_ = SizeInput{"cable length", *machine_->cable_length_m, "m", Origin::plan, machine_->name};
        else
            ground_.unknown(machine_ ? machine_->name : device_.designation, "length_m of a cable",
                            "voltage drop, fault loop and disconnection of " + device_.designation);
    }

    void find_laying() {
        const Device *cable = cables_.empty() ? nullptr : cables_.front();
        const std::string subject = cable ? cable->designation : machine_ ? machine_->name : device_.designation;
        method_ = "B2";
        if (cable && cable->word("method"))
            method_ = *cable->word("method");
        else if (machine_ && machine_->cable_method)
            method_ = to_text(*machine_->cable_method);
        else
            ground_.unknown(subject, cable || !machine_ ? "method" : "cable_method",
                            "its ampacity is that of method B2, cable in a conduit");
        ambient_ = assumed("ambient", ground_.options.ambient_c, "degC", "of the whole call");
        grouping_ = assumed("grouped circuits", 1, "", "alone in its conduit");
        const auto say = [](SizeInput &input, double value, Origin origin, const std::string &from) {
            input.value = value;
            input.origin = origin;
            input.from = from;
        };
        if (machine_ && machine_->ambient_c)
            say(ambient_, *machine_->ambient_c, Origin::plan, machine_->name);
        if (machine_ && machine_->cable_grouping)
            say(grouping_, *machine_->cable_grouping, Origin::plan, machine_->name);
        if (cable && cable->number("ambient_c"))
            say(ambient_, *cable->number("ambient_c"), Origin::wired, cable->designation);
        if (cable && cable->number("grouping"))
            say(grouping_, *cable->number("grouping"), Origin::wired, cable->designation);
    }

    void find_loads() {
        design_a_ = motor_.rated_a * share_;
        for (const Element &element : ground_.paths[path_].elements) {
            const std::uint32_t index = ground_.compiled.switches[element.contact].device;
            const Device &overload = ground_.device(index);
            if (overload.kind != DeviceKind::overload || ground_.behind.at(index).size() > 1)
                continue;
            // A relay behind the split of the phases lets sqrt3 times its setting through the line.
            if (const auto setting = overload.number("setting_a"))
                must_carry_ = SizeInput{"overload setting", *setting / element.share * share_, "A", Origin::wired,
                                        overload.designation};
        }
        if (!must_carry_ || must_carry_->value < design_a_) {
            must_carry_ =
                !must_carry_ && branch_.rating_a > design_a_
                    ? SizeInput{"protection, no overload stands behind it", branch_.rating_a, "A",
                                branch_.wired ? Origin::wired : Origin::computed,
                                branch_.device ? ground_.device(*branch_.device).designation : device_.designation}
                    : computed("rated current", design_a_, "A", device_.designation);
        }
        power_factor_ =
            device_.number("power_factor")
                ? from_device(device_, "power_factor", "")
                : SizeInput{"power factor", typical_power_factor(three_phase(), device_.number("power_kw").value_or(1)),
                            "", Origin::table, "typical motor"};
    }

    // What cables it shares with others lose and add to the loop, the others running while it starts.
    void read_feeders() {
        for (const std::uint32_t index : feeders_) {
            const Device &cable = ground_.device(index);
            const auto length = cable.number("length_m"), csa = cable.number("csa_mm2");
            if (!length || !csa) {
                ground_.unknown(cable.designation, length ? "csa_mm2" : "length_m",
                                "what it loses is not in the sizes behind it");
                continue;
            }
            const double running_a = carried(ground_, ground_.behind.at(index)).running_a;
            add_feeder({*length, *csa, running_a, three_phase()});
        }
        if (!machine_ || !feeders_.empty())
            return;
        const auto ahead = ground_.ahead.find(machine_);
        if (ahead == ground_.ahead.end())
            return;
        if (cables_.empty() && ahead->second) // else what is wired is the cable to the machine
            std::ranges::for_each(*ahead->second, [&](const CableAhead &one) { add_feeder(one); });
        else
            ground_.unknown(machine_->name, "the cables between the supply and it",
                            "drops and fault loops behind them are of the motors' cables alone");
    }

    void add_feeder(const CableAhead &one) {
        const double starting_a = one.running_a + std::max(0.0, motor_.start_a - motor_.rated_a);
        feeder_running_v_ += lost_ahead_v(one, one.running_a, power_factor_.value, three_phase());
        feeder_starting_v_ += lost_ahead_v(one, starting_a, start_power_factor, three_phase());
        feeder_ohm_ += loop_impedance_ohm(0, one.length_m, one.csa_mm2);
    }

    void choose() {
        Size size{.subject = cables_.empty() ? device_.designation : cables_.front()->designation,
                  .quantity = "cable size",
                  .value = 0,
                  .unit = "mm2",
                  .formula = length_ ? "smallest that carries, drops no more than allowed, disconnects in time and "
                                       "withstands the short circuit"
                                     : "smallest that carries; its length is unknown",
                  .inputs = {*must_carry_, ambient_, grouping_},
                  .source = std::string(machine_cable_source) + "; D.1, D.2 (from memory); IEC 60364-4-41; "
                                                                "IEC 60364-4-43"};
        if (length_)
            size.inputs.push_back(*length_);
        std::optional<CableJudged> chosen;
        for (const double csa_mm2 : conductor_sizes_mm2()) {
            const CableJudged it = judge(csa_mm2);
            if (csa_mm2 >= smallest_power_csa_mm2 && it.reasons.empty()) {
                chosen = it;
                break;
            }
            size.rejected.push_back({format_number(csa_mm2) + " mm2",
                                     it.reasons.empty() ? std::string(too_thin_for_power) : reasons_of(it)});
        }
        if (chosen) {
            size.value = chosen->csa_mm2;
            size.choice =
                std::string(three_phase() ? "4" : "3") + " x " + format_number(chosen->csa_mm2) + " mm2, " + method_;
        } else {
            size.remark = "No size up to 120 mm2 does; give it a smaller protection or a shorter way.";
        }
        if (wired_mm2_) {
            const CableJudged wired = judge(*wired_mm2_);
            size.as_wired = *wired_mm2_;
            size.fit = wired.reasons.empty() ? Fit::fits : Fit::does_not_fit;
            if (!wired.reasons.empty())
                size.remark = "As wired: " + reasons_of(wired) + ".";
            tell(wired);
        } else if (chosen) {
            tell(*chosen);
        }
        ground_.add(std::move(size));
    }

    // What follows from the size as wired, else as chosen.
    void tell(const CableJudged &it) {
        const std::string subject = cables_.empty() ? device_.designation : cables_.front()->designation;
        const SizeInput csa = {"size", it.csa_mm2, "mm2", wired_mm2_ ? Origin::wired : Origin::computed, subject};
        const auto add = [&](std::string quantity, double value, std::string unit, std::string formula,
                             std::vector<SizeInput> inputs, std::string_view source, Fit fit = Fit::not_compared) {
            inputs.push_back(csa);
            ground_.add({.subject = subject,
                         .quantity = std::move(quantity),
                         .value = value,
                         .unit = std::move(unit),
                         .formula = std::move(formula),
                         .inputs = std::move(inputs),
                         .source = std::string(source),
                         .fit = fit});
        };
        const auto fit = [](bool fits) { return fits ? Fit::fits : Fit::does_not_fit; };
        if (it.ampacity_a)
            add("ampacity", *it.ampacity_a, "A", "table 6 x D.1 x D.2", {ambient_, grouping_}, machine_cable_source,
                fit(*it.ampacity_a >= must_carry_->value));
        if (!length_)
            return;
        const std::string phases = three_phase() ? "sqrt3" : "2";
        const SizeInput rated = computed("rated current", design_a_, "A", device_.designation);
        const SizeInput start = computed("starting current", motor_.start_a, "A", device_.designation);
        add("voltage drop, running", it.running_percent, "%", phases + " I l (R70 cos phi + X sin phi) / U",
            {rated, *length_, power_factor_}, "IEC 60228; IEC 60204-1 12.5 (5 %, from memory)",
            fit(it.running_percent <= ground_.options.running_drop_percent));
        add("voltage drop, starting", it.starting_percent, "%", phases + " I start l (R70 cos phi + X sin phi) / U",
            {start, *length_, assumed("power factor", start_power_factor, "", "IEC 60947-4-1 AC-3, making")},
            "IEC 60228; limit: common practice, no source",
            fit(it.starting_percent <= ground_.options.starting_drop_percent));
        add("fault loop", it.loop_ohm, "ohm", "Z source + 2 l R70", {source_, *length_}, "IEC 60364-4-41; IEC 60228");
        ground_.out.values.back().remark =
            "A TN system is assumed, with a protective conductor of the same size as the line.";
        add("earth-fault current", it.fault_a, "A", "0.95 U0 / Zs", {{"U0", to_earth_v_, "V", Origin::wired, "supply"}},
            "BS 7671 411.4.4 (factor 0.95)");
        if (branch_.rating_a <= 0)
            return;
        const SizeInput rating{"protection", branch_.rating_a, "A", branch_.wired ? Origin::wired : Origin::computed,
                               branch_.device ? ground_.device(*branch_.device).designation : device_.designation};
        if (it.clears_s)
            add("disconnection time", *it.clears_s, "s",
                breaker_releases_at(branch_.type) ? "released at once" : "between the gates of the fuse", {rating},
                "IEC 60364-4-41 table 41.1; gates: IEC 60269-1 (from memory)", fit(*it.clears_s <= it.longest_s));
        if (it.clears_s)
            add("short-circuit withstand size", it.withstand_mm2, "mm2", "sqrt(I2t) / 115", {rating},
                "IEC 60364-4-43 (k of copper in PVC, from memory)", fit(it.withstand_mm2 <= it.csa_mm2));
    }

    Ground &ground_;
    std::uint32_t path_;
    const Device &device_;
    const MotorSizes &motor_;
    Branch branch_;
    const Machine *machine_;
    std::vector<const Device *> cables_;
    std::vector<std::uint32_t> feeders_; ///< devices
    double feeder_running_v_ = 0, feeder_starting_v_ = 0, feeder_ohm_ = 0;
    double share_ = 1;
    std::optional<double> wired_mm2_;
    double to_earth_v_ = usual_to_earth_v;
    SizeInput source_ = assumed("impedance_ohm", ground_.options.source_impedance_ohm, "ohm",
                                "largest a supplier of a TN-C-S supply declares (from memory)");
    std::optional<SizeInput> length_;
    std::string method_;
    SizeInput ambient_, grouping_, power_factor_;
    std::optional<SizeInput> must_carry_;
    double design_a_ = 0;
};

// A cable that several motors share carries them together; what it loses is told with each motor.
void size_feeder(Ground &ground, const Device &cable, const std::vector<Behind> &behind) {
    const Carried load = carried(ground, behind);
    const std::string method(cable.word("method").value_or("B2"));
    const double ambient_c = cable.number("ambient_c").value_or(ground.options.ambient_c),
                 grouping = cable.number("grouping").value_or(1);
    if (load.running_a <= 0)
        return;
    Size size{.subject = cable.designation,
              .quantity = "cable size",
              .value = 0,
              .unit = "mm2",
              .formula = "smallest that carries sum I",
              .inputs = load.inputs,
              .source = std::string(machine_cable_source) + "; D.1, D.2 (from memory)"};
    size.inputs.push_back(
        {"ambient", ambient_c, "degC", cable.number("ambient_c") ? Origin::wired : Origin::assumed, cable.designation});
    if (!cable.word("method"))
        ground.unknown(cable.designation, "method", "its ampacity is that of method B2, cable in a conduit");
    for (const double csa_mm2 : conductor_sizes_mm2()) {
        const auto ampacity_a = machine_ampacity_a(csa_mm2, method, ambient_c, grouping);
        if (csa_mm2 >= smallest_power_csa_mm2 && ampacity_a && *ampacity_a >= load.running_a) {
            size.value = csa_mm2;
            size.choice = format_number(csa_mm2) + " mm2, " + method;
            break;
        }
        size.rejected.push_back({format_number(csa_mm2) + " mm2",
                                 !ampacity_a ? "the tables have no ampacity for it"
                                 : csa_mm2 < smallest_power_csa_mm2
                                     ? std::string(too_thin_for_power)
                                     : "carries " + amperes(*ampacity_a) + ", " + amperes(load.running_a) + " wanted"});
    }
    if (const auto csa = cable.number("csa_mm2")) {
        size.as_wired = *csa;
        if (size.value > 0 && load.complete)
            size.fit = *csa >= size.value ? Fit::fits : Fit::does_not_fit;
    }
    ground.add(std::move(size));
}

} // namespace

void size_cables(Ground &ground) {
    for (const auto &[index, behind] : ground.behind)
        if (ground.device(index).kind == DeviceKind::cable && behind.size() > 1)
            size_feeder(ground, ground.device(index), behind);
    for (std::uint32_t path = 0; path < ground.paths.size(); ++path)
        if (ground.motors[path].rated_a > 0 && !ground.paths[path].sources.empty())
            CableSizing(ground, path).size();
}

} // namespace stopspan::ratings

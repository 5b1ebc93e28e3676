#include "base/number_text.hpp"
#include "ratings/conductor.hpp"
#include "ratings/control_loops.hpp"
#include "ratings/control_supply.hpp"
#include "ratings/protection.hpp"

#include <algorithm>
#include <cmath>

namespace stopspan::ratings {
namespace {

constexpr std::string_view transformer_rule = "a maker's technical guide on transformers, pages 23 to 25 (lower of two "
                                              "generations); power factors 0.3 sealed, 0.75 inrush (assumed)";

// Whether control circuits of these coils may do without a transformer.
void size_leaving_out(Ground &ground, const std::string &subject, const std::vector<const Coil *> &coils,
                      bool has_transformer) {
    std::set<std::string> outside;
    int starters = 0;
    double power_kw = 0;
    for (const Coil *coil : coils) {
        const auto behind = ground.behind.find(ground.compiled.armatures[coil->armature].device);
        if (behind != ground.behind.end()) {
            ++starters;
            for (const Behind &each : behind->second)
                power_kw += ground.motor_device(each.path).number("power_kw").value_or(0);
        }
        for (const std::uint32_t i : coil->loop)
            if (const Device &device = ground.device(ground.compiled.switches[i].device); is_actuator(device.kind))
                outside.insert(device.designation);
    }
    const int devices = static_cast<int>(outside.size());
    const bool newer = transformer_may_be_left_out(starters, devices, power_kw, false),
               older = transformer_may_be_left_out(starters, devices, power_kw, true);
    Size size{.subject = subject,
              .quantity = "control devices outside",
              .value = static_cast<double>(devices),
              .formula = "one motor starter, at most two control devices outside",
              .inputs = {{"motor starters", static_cast<double>(starters), "", Origin::wired, "the circuit"},
                         {"motor power", power_kw, "kW", Origin::plate, "motors behind them"}},
              .source = "IEC 60204-1:2016 9.1.1 (from memory); older edition: a note on it, below 3 kW too"};
    const std::string what = has_transformer ? "the transformer may be left out" : "no transformer is needed";
    size.choice = newer && older ? what
                  : newer        ? what + " by the editions of 2005 and 2016, not by the older"
                                 : "a transformer is asked for";
    ground.add(std::move(size));
}

/// One transformer or DC supply and what hangs on it.
class SupplySizing {
public:
    SupplySizing(Ground &ground, const Relevance &relevance, std::uint32_t source, const std::vector<Coil> &coils,
                 const Feeds &feeds)
        : ground_(ground), source_(ground.compiled.sources[source]), device_(ground.device(source_.device)),
          direct_(source_.feed == Source::Feed::ac_to_dc),
          volts_(device_.number(direct_ ? "voltage_v" : "secondary_v").value_or(0)) {
        for (const Coil &coil : coils)
            if (std::ranges::find(coil.sources, source) != coil.sources.end())
                coils_.push_back(&coil);
        for (const LoadSeen &load : ground.compiled.loads) {
            const auto sources = feeds.sources_between(load.a, load.b);
            if (std::ranges::find(sources, source) == sources.end())
                continue;
            const Device &each = ground.device(load.device);
            const auto current = each.number("current_a");
            other_w_ += volts_ * current.value_or(each.kind == DeviceKind::lamp ? 0.02 : 1);
            if (!current)
                ground.unknown(each.designation, "current_a", "what it takes of " + device_.designation);
        }
        if (!coils_.empty())
            most_ = most_at_once(ground, relevance, coils_);
    }

    void size() {
        if (coils_.empty() && other_w_ <= 0)
            return;
        for (const Coil *coil : coils_) {
            const std::string &name = ground_.device(ground_.compiled.armatures[coil->armature].device).designation;
            const std::string usual = format_number(coil->hold_va) + (direct_ ? " W" : " VA");
            if (!coil->hold_known)
                ground_.unknown(name, direct_ ? "hold_w" : "hold_va", usual + " is assumed for its supply");
            if (!direct_ && !coil->inrush_known)
                ground_.unknown(name, "inrush_va", format_number(coil->inrush_va) + " VA is assumed for its supply");
        }
        const double permanent = most_.sealed_va + other_w_;
        ground_.add(load("sealed load", permanent, "sum of what is in at once"));
        if (direct_)
            size_direct(permanent);
        else
            size_transformer(permanent);
    }

private:
    const char *unit() const { return direct_ ? "W" : "VA"; }

    Size load(std::string quantity, double value, std::string formula) const {
        Size size{.subject = device_.designation,
                  .quantity = std::move(quantity),
                  .value = value,
                  .unit = unit(),
                  .formula = std::move(formula),
                  .inputs = {{"coils it feeds", static_cast<double>(coils_.size()), "", Origin::wired, "the circuit"},
                             {"lamps and loads", other_w_, "W", Origin::wired, "the circuit"}},
                  .source = std::string(common_practice)};
        if (most_.searched)
            size.inputs.push_back({"states searched", static_cast<double>(most_.states), "", Origin::wired,
                                   "every state that acts can reach"});
        else if (!coils_.empty())
            size.remark = "Not searched which of them can be in at once: all are taken to pull in together, the most "
                          "there can be.";
        return size;
    }

    void size_direct(double permanent_w) {
        Size size = load("rated power", permanent_w,
                         "smallest that gives the sealed load; direct-current coils take no more to pull in");
        for (const double rated_w : dc_supply_sizes_w()) {
            if (rated_w >= permanent_w) {
                size.choice = format_number(rated_w) + " W";
                size.value = rated_w;
                break;
            }
            size.rejected.push_back(
                {format_number(rated_w) + " W", "less than " + format_fixed(permanent_w, 1) + " W"});
        }
        const auto has = device_.number("power_w");
        compare(size, "power_w", permanent_w, has, has && *has >= permanent_w);
        const double rated_w = has.value_or(size.value);
        ground_.add(std::move(size));
        size_fuse(rated_w, permanent_w, has.has_value());
    }

    void size_transformer(double permanent_va) {
        const ControlLoad moment{most_.then_sealed_va, most_.then_inrush_va, other_w_};
        const double momentary = momentary_va(moment);
        Size at_once = load("momentary load", momentary, "sqrt(P^2 + Q^2) of what is in, what pulls in, and lamps");
        at_once.inputs.push_back({"sealed then", moment.sealed_va, "VA", Origin::wired, "power factor 0.3"});
        at_once.inputs.push_back({"pulling in then", moment.inrush_va, "VA", Origin::wired, "power factor 0.75"});
        ground_.add(std::move(at_once));

        Size size =
            load("rated power", 0, "smallest that gives the momentary load with 5 % drop and the sealed load for good");
        size.source = transformer_rule;
        size.inputs.push_back(computed("momentary load", momentary, "VA", device_.designation));
        size.inputs.push_back(computed("sealed load", permanent_va, "VA", device_.designation));
        for (const double rated_va : transformer_sizes_va()) {
            const double gives_va = *transformer_inrush_va(rated_va);
            if (gives_va >= momentary && rated_va >= permanent_va) {
                size.value = rated_va;
                size.choice = format_number(rated_va) + " VA";
                break;
            }
            size.rejected.push_back({format_number(rated_va) + " VA",
                                     rated_va < permanent_va
                                         ? "less than the sealed load of " + format_fixed(permanent_va, 0) + " VA"
                                         : "gives " + format_fixed(gives_va, 0) + " VA for a moment, " +
                                               format_fixed(momentary, 0) + " VA wanted"});
        }
        const auto has = device_.number("rating_va");
        const auto gives_va = gives(has.value_or(size.value));
        compare(size, "rating_va", momentary, has, has && gives_va && *gives_va >= momentary && *has >= permanent_va);
        const double rated_va = has.value_or(size.value);
        ground_.add(std::move(size));
        if (gives_va) {
            const double dip = transformer_dip_percent(momentary, *gives_va);
            Size size_dip = load("dip while coils pull in", dip, "5 % x momentary load / what it gives for a moment");
            size_dip.unit = "%";
            size_dip.source = transformer_rule;
            size_dip.inputs.push_back({"gives for a moment", *gives_va, "VA", Origin::table, "for its size"});
            // A coil pulls in from 85 %: what is left of that belongs to its loop.
            size_dip.fit = dip <= 5 ? Fit::fits : Fit::does_not_fit;
            ground_.add(std::move(size_dip));
        }
        size_fuse(rated_va, permanent_va, has.has_value());
        size_leaving_out(ground_, device_.designation, coils_, true);
    }

    // The largest size of the table that is no larger.
    static std::optional<double> gives(double rated_va) {
        std::optional<double> found;
        for (const double each : transformer_sizes_va())
            if (each <= rated_va)
                found = transformer_inrush_va(each);
        return found;
    }

    void compare(Size &size, const std::string &parameter, double wanted, std::optional<double> has, bool fits) {
        if (has) {
            size.as_wired = *has;
            size.fit = fits ? Fit::fits : Fit::does_not_fit;
        } else {
            ground_.unknown(device_.designation, parameter,
                            "whether it gives " + format_fixed(wanted, 0) + " " + unit());
        }
    }

    // Fuses with one end on its poles.
    void size_fuse(double rated, double permanent, bool known) {
        if (rated <= 0 || volts_ <= 0)
            return;
        const double rated_a = rated / volts_;
        for (const Source::Pole &pole : source_.poles)
            for (const std::uint32_t i : ground_.lookup.switches_at[pole.net]) {
                const Device &fuse = ground_.device(ground_.compiled.switches[i].device);
                if (fuse.kind != DeviceKind::fuse)
                    continue;
                Size size{.subject = fuse.designation,
                          .quantity = "rated current of the control fuse",
                          .value = 0,
                          .unit = "A",
                          .formula = "largest up to P / U of its supply, not below the sealed current",
                          .inputs = {computed("rated power", rated, unit(), device_.designation),
                                     computed("sealed load", permanent, unit(), device_.designation)},
                          .source = "IEC 60204-1:2016 7.2.4, 7.2.7 (from memory)"};
                for (const double each_a : control_fuse_sizes_a()) {
                    if (each_a > rated_a) {
                        size.rejected.push_back(
                            {format_number(each_a) + " A", "more than its supply gives, " + amperes(rated_a)});
                        break;
                    }
                    if (size.value > 0)
                        size.rejected.push_back({format_number(size.value) + " A", "a larger one will do"});
                    size.value = each_a;
                }
                if (size.value > 0)
                    size.choice = format_number(size.value) + " A";
                else
                    size.remark =
                        "Its supply gives less than the smallest size known here; take a fuse of no more than " +
                        amperes(rated_a) + ".";
                if (const auto has = fuse.number("rating_a")) {
                    size.as_wired = *has;
                    if (known) // else it is the supply that is chosen here
                        size.fit =
                            *has <= rated_a * 1.001 && *has * volts_ >= permanent ? Fit::fits : Fit::does_not_fit;
                }
                ground_.add(std::move(size));
            }
    }

    Ground &ground_;
    const Source &source_;
    const Device &device_;
    bool direct_;
    double volts_;
    std::vector<const Coil *> coils_;
    double other_w_ = 0;
    AtOnce most_;
};

// A fuse of the mains with coils behind it and nothing else that takes current for good.
void size_mains_fuses(Ground &ground, const std::vector<Coil> &coils) {
    struct Behind {
        double sealed_a = 0, inrush_a = 0;
        bool known = true;
        std::vector<SizeInput> inputs{};
    };
    std::map<std::uint32_t, Behind> fuses;
    for (const Coil &coil : coils) {
        const bool mains = !coil.sources.empty() && std::ranges::all_of(coil.sources, [&](std::uint32_t source) {
            return ground.compiled.sources[source].feed == Source::Feed::own;
        });
        std::set<std::uint32_t> ahead;
        for (const std::uint32_t i : coil.loop)
            if (const std::uint32_t index = ground.compiled.switches[i].device;
                mains && ground.device(index).kind == DeviceKind::fuse && !ground.behind.contains(index))
                ahead.insert(index);
        const double volts = coil.fed_v.value_or(coil.rated_v);
        for (const std::uint32_t index : ahead) {
            Behind &behind = fuses[index];
            if (volts <= 0) {
                behind.known = false;
                continue;
            }
            const std::string &name = ground.device(ground.compiled.armatures[coil.armature].device).designation;
            behind.sealed_a += coil.hold_va / volts;
            behind.inrush_a += coil.inrush_va / volts;
            SizeInput input = computed("inrush current", coil.inrush_va / volts, "A", name);
            if (!coil.inrush_known) {
                input.origin = Origin::assumed;
                ground.unknown(name, coil.direct_current ? "hold_w" : "inrush_va",
                               format_number(coil.inrush_va) + (coil.direct_current ? " W" : " VA") +
                                   " is assumed for its fuse");
            }
            behind.inputs.push_back(std::move(input));
        }
    }
    const double carries_a = machine_ampacity_a(ground.options.control_csa_mm2, "B1", ground.options.ambient_c)
                                 .value_or(machine_ampacity_a(0.75, "B1", ground.options.ambient_c).value_or(0));
    for (auto &[index, behind] : fuses) {
        const Device &fuse = ground.device(index);
        if (!behind.known) {
            ground.unknown(fuse.designation, "coil_voltage_v of what is behind it", "it is not sized");
            continue;
        }
        Size size{.subject = fuse.designation,
                  .quantity = "rated current of the control fuse",
                  .unit = "A",
                  .formula = "smallest that carries every coil behind it pulling in at once, not above what its wires "
                             "carry",
                  .inputs = std::move(behind.inputs),
                  .source = "IEC 60204-1:2016 7.2.4 (from memory); all at once: common practice, no source"};
        size.inputs.push_back(computed("sealed current", behind.sealed_a, "A", "coils behind it"));
        size.inputs.push_back(assumed("control_csa_mm2", ground.options.control_csa_mm2, "mm2", "of the whole call"));
        for (const double rating_a : control_fuse_sizes_a()) {
            const std::string candidate = format_number(rating_a) + " A";
            if (rating_a < behind.inrush_a)
                size.rejected.push_back({candidate, "less than " + amperes(behind.inrush_a)});
            else if (rating_a > carries_a)
                size.rejected.push_back({candidate, "its wires carry " + amperes(carries_a)});
            else if (size.value <= 0)
                size.value = rating_a;
        }
        if (size.value > 0)
            size.choice = format_number(size.value) + " A";
        else
            size.remark = "None of the sizes known here does: give its coils several fuses, or thicker wires.";
        if (const auto has = fuse.number("rating_a")) {
            size.as_wired = *has;
            size.fit = *has >= behind.sealed_a && *has <= carries_a ? Fit::fits : Fit::does_not_fit;
        }
        ground.add(std::move(size));
    }
}

// Machines whose contactors are fed by the mains themselves.
void size_without_transformer(Ground &ground, const std::vector<Coil> &coils) {
    std::map<std::string, std::vector<const Coil *>> by_machine;
    for (const Coil &coil : coils) {
        const auto behind = ground.behind.find(ground.compiled.armatures[coil.armature].device);
        const bool mains = std::ranges::any_of(coil.sources, [&](std::uint32_t source) {
            return ground.compiled.sources[source].feed == Source::Feed::own && !coil.fed_direct_current;
        });
        if (mains && behind != ground.behind.end() && behind->second.size() == 1)
            by_machine[ground.machine_of(behind->second.front().path)].push_back(&coil);
    }
    for (const auto &[machine, of_machine] : by_machine)
        size_leaving_out(ground, machine, of_machine, false);
}

} // namespace

void size_control_supplies(Ground &ground) {
    const auto &sources = ground.compiled.sources;
    const std::vector<Coil> coils = coils_of(ground);
    const auto is_supply = [&](const Source &source) {
        const DeviceKind kind = ground.device(source.device).kind;
        return kind == DeviceKind::dc_supply || kind == DeviceKind::transformer;
    };
    if (std::ranges::any_of(sources, is_supply)) {
        const Feeds feeds(ground.compiled);
        const Relevance relevance(ground.compiled);
        for (std::uint32_t i = 0; i < sources.size(); ++i)
            if (is_supply(sources[i]))
                SupplySizing(ground, relevance, i, coils, feeds).size();
    }
    size_mains_fuses(ground, coils);
    size_without_transformer(ground, coils);
}

} // namespace stopspan::ratings

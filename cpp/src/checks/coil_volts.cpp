#include "checks/long_wires.hpp"
#include "checks/machine_check.hpp"

#include "base/number_text.hpp"
#include "base/words.hpp"

#include <boost/pending/disjoint_sets.hpp>

#include <algorithm>
#include <cmath>

namespace stopspan {
namespace {

const std::string coil_volts_rule = "coil-volts";

constexpr double tolerance = 1e-6;

// Things with positions in a circuit that is searched whole where the nearest feed does not tell: for each coil there.
constexpr std::size_t most_hanging_together = 100;

class CoilDecision {
public:
    CoilDecision(Tools &tools, std::uint32_t armature, bool tripping, Decided &decided)
        : context_(tools.context), index_(armature), coil_(context_.compiled.armatures[armature]), tripping_(tripping),
          a_(tripping ? coil_.e1 : coil_.a1), b_(tripping ? coil_.e2 : coil_.a2), decided_(decided),
          name_(context_.compiled.device_names[coil_.device]), pulls_in_(limit("lowest")), most_(limit("highest")),
          leaves_in_(limit(coil_.dc_coil ? "left_dc" : "left_ac")), leaves_out_(limit("out")) {}

    void decide() {
        Seeds seeds{.nets = {a_, b_}, .power = {}, .loads = context_.lookup.impedances_of[coil_.device]};
        std::erase_if(seeds.loads, [&](std::uint32_t i) { // the other coil of two may stand elsewhere
            const Impedance &one = context_.compiled.impedances[i];
            return std::minmax(one.a, one.b) != std::minmax(a_, b_);
        });
        const Reach reach = reach_of(context_.compiled, context_.relevance, seeds, Extent::feed);
        const bool moves = std::binary_search(reach.armatures.begin(), reach.armatures.end(), index_);
        const bool fed_by_motors = context_.relevance.fed_by_motors(reach.nets);
        const bool between_poles = context_.relevance.is_pole_net(a_) && context_.relevance.is_pole_net(b_);
        const auto together = [&] {
            return reach_of(context_.compiled, context_.relevance, seeds, Extent::everything);
        };
        // Between two poles, or on lines of much else, and no contact of its own in a way to it: nothing changes it.
        if (!moves && !fed_by_motors &&
            (between_poles || (together().variables.size() > small_circuit && !in_a_longer_way()))) {
            judge_plainly(reach);
            report();
            return;
        }
        const bool in_part = moves && !fed_by_motors;
        const bool proven = in_part && !shares_current(context_, reach) && plainly_right(reach);
        if (!proven && !(in_part && search(reach, false))) {
            worst_ = {};
            const Reach all = together();
            if (in_part || all.variables.size() <= most_hanging_together)
                search(all, true);
            else
                worst_ = {Status::undecided,
                          "Not decided which voltage the coil of " + name_ +
                              " gets: what feeds it hangs together with " + std::to_string(all.variables.size()) +
                              " things with positions.",
                          {},
                          {}};
        }
        report();
    }

private:
    struct Worst {
        Status status = Status::note;
        std::string text;
        std::vector<std::string> acts;
        std::string ends_in;
    };

    double limit(const std::string &which) const { return context_.limit("coil_volts_" + which + "_percent") / 100; }

    static std::string percent(double ratio) { return format_fixed(ratio * 100, 0) + " %"; }
    // Told so that it differs from the limit.
    static std::string percent(double ratio, double limit) {
        const std::string text = percent(ratio);
        return text == percent(limit) ? format_fixed(ratio * 100, 1) + " %" : text;
    }

    void keep(Status status, const std::string &text, const std::string &ends_in, std::vector<std::string> acts) {
        if (severity(status) > severity(worst_.status))
            worst_ = {status, text, std::move(acts), ends_in};
    }

    // A contact of its own stands in a way from the coil to a source.
    bool in_a_longer_way() const {
        const auto ways = context_.relevance.in_any_way({a_, b_});
        return std::binary_search(ways.begin(), ways.end(), coil_.variable);
    }

    // Where nothing but contacts stands between a coil and its poles it has the source's voltage, or none.
    bool plainly_right(const Reach &reach) {
        judge_plainly(reach);
        return std::exchange(worst_, {}).status == Status::note;
    }

    void judge_plainly(const Reach &reach) {
        const Cone cone = cut_cone(context_.circuit, context_.compiled, context_.relevance, reach, Simplify::joined);
        Network network(cone.circuit);
        State cold = cone.circuit.cold();
        network.evaluate(cold);
        std::vector<Volts> at_a = poles(cone, network, cone.net_of[a_]), at_b = poles(cone, network, cone.net_of[b_]);
        for (const Volts &a : at_a)
            for (const Volts &b : at_b)
                if (const Volts across = a - b; across.rms() > tolerance)
                    judge_fed(across, across.rms() / coil_.rated_v, across.rms() / coil_.rated_v, false, {});
    }

    // Potentials of the poles that contacts, all closed, join to a net.
    static std::vector<Volts> poles(const Cone &cone, const Network &network, std::uint32_t start) {
        std::vector<Volts> found;
        std::set<std::uint32_t> pole_nets{cone.circuit.earth}, seen{start};
        for (const Source &source : cone.circuit.sources)
            for (const Source::Pole &pole : source.poles)
                pole_nets.insert(pole.net);
        std::vector<std::uint32_t> queue{start};
        for (std::size_t k = 0; k < queue.size(); ++k) {
            if (pole_nets.contains(queue[k])) {
                if (const auto volts = network.pole_potential(queue[k]))
                    found.push_back(*volts);
                continue;
            }
            for (const Switch &contact : cone.circuit.switches)
                if (contact.closed_at != 0 && (contact.a == queue[k] || contact.b == queue[k]))
                    if (const std::uint32_t far = contact.a == queue[k] ? contact.b : contact.a;
                        seen.insert(far).second)
                        queue.push_back(far);
        }
        return found;
    }

    // A coil that is meant to pull in, or to stay in.
    void judge_fed(Volts across, double low, double high, bool in, const std::vector<std::string> &acts) {
        const double part = coil_.dc_coil ? std::abs(across.ac) : std::abs(across.dc);
        if (part > 0.1 * across.rms())
            keep(Status::fails,
                 "The coil of " + name_ + ", for " + (coil_.dc_coil ? "direct" : "alternating") +
                     " current, is fed with " + (coil_.dc_coil ? "alternating" : "direct") + " current.",
                 name_ + " on the wrong kind of current", acts);
        if (high > most_ + tolerance)
            keep(low > most_ + tolerance ? Status::fails : Status::maybe,
                 "The coil of " + name_ + " gets " + percent(high, most_) + " of its rated voltage; it may have " +
                     percent(most_) + ".",
                 name_ + " at " + percent(high), acts);
        if (!in && low < pulls_in_ - tolerance) // once in, the loop has less to carry
            keep(high < pulls_in_ - tolerance ? Status::fails : Status::maybe,
                 "The coil of " + name_ + " gets " + percent(low, pulls_in_) +
                     " of its rated voltage to pull in; below " + percent(pulls_in_) + " it need not, and chatters.",
                 name_ + " at " + percent(low), acts);
    }

    // @returns false when what it found depends on what is outside the part
    bool search(const Reach &reach, bool whole) {
        const Cone cone = cut_cone(context_.circuit, context_.compiled, context_.relevance, reach, Simplify::joined);
        const auto inside = std::find(reach.armatures.begin(), reach.armatures.end(), index_);
        const auto here = static_cast<std::uint32_t>(inside - reach.armatures.begin());
        const Armature &coil = cone.circuit.armatures[here];
        const std::uint32_t a = tripping_ ? coil.e1 : coil.a1, b = tripping_ ? coil.e2 : coil.a2;
        std::vector<std::uint32_t> wires = long_wires(context_.circuit, cone.circuit);
        add_own_resistors(cone.circuit, coil.variable, wires);
        Exploration exploration(cone);
        // A line that is lost or a fuse that blows takes volts away: nothing to judge a coil by.
        exploration.only([&](const Act &act) { return act.kind != ActKind::blow && act.kind != ActKind::lose; });
        Network &network = exploration.settler().network();
        bool unknown = false;
        std::vector<std::uint8_t> seen;
        const auto look = [&](std::uint32_t node) {
            if (seen.size() <= node)
                seen.resize(exploration.nodes().size(), 0);
            if (std::exchange(seen[node], std::uint8_t{1}))
                return;
            State state = exploration.nodes()[node].state;
            network.evaluate(state);
            const RatioRange ratio = network.coil_ratio(here, tripping_);
            if (ratio.unknown) {
                unknown = true;
                return;
            }
            if (ratio.high < std::min({limit("left_dc"), leaves_in_, leaves_out_}))
                return;
            const bool in = state[coil.variable] != 0;
            // More than it may have is too much, whatever it comes through.
            const bool meant = ratio.low > most_ + tolerance || fed_by_the_loop(cone, wires, state, a, b);
            if (meant)
                judge_fed(network.across(a, b), ratio.low, ratio.high, in, exploration.acts_to(node));
            const double leaves = coil.kind != Armature::Kind::coil || !in ? leaves_out_ : leaves_in_;
            if (!meant && ratio.high >= leaves - tolerance)
                keep(ratio.low >= leaves - tolerance ? Status::fails : Status::maybe,
                     "The coil of " + name_ + " keeps " + percent(ratio.high) +
                         " of its rated voltage when its circuit is open" +
                         (in ? ": it need not drop out." : ": it may pull in."),
                     name_ + " at " + percent(ratio.high), exploration.acts_to(node));
        };
        const bool complete = exploration.run(context_.options.state_budget, [&](const Exploration::Transition &t) {
            look(t.from);
            std::for_each(t.to.begin(), t.to.end(), look);
        });
        for (std::uint32_t node = 0; node < exploration.nodes().size(); ++node)
            look(node); // where nothing can be done no transition leads
        // What hangs on the part may seem to bring a coil in on the way, though it does not.
        if (!whole && (unknown || !complete || (!cone.exact && worst_.status != Status::note)))
            return false;
        if (!complete && worst_.status == Status::note)
            worst_ = {Status::undecided,
                      "Not decided which voltage the coil of " + name_ + " gets within " +
                          std::to_string(context_.options.state_budget) + " states.",
                      {},
                      {}};
        return true;
    }

    // A resistor that a break contact of the coil bridges until it is in: its circuit is closed through it, too.
    void add_own_resistors(const Compiled &part, std::uint32_t coil, std::vector<std::uint32_t> &wires) const {
        for (std::uint32_t i = 0; i < part.impedances.size(); ++i) {
            const Impedance &one = part.impedances[i];
            if (context_.circuit.devices()[one.device].kind == DeviceKind::resistor &&
                std::any_of(part.switches.begin(), part.switches.end(), [&](const Switch &contact) {
                    return contact.variable == coil && (contact.closed_at & 1) != 0 &&
                           std::minmax(contact.a, contact.b) == std::minmax(one.a, one.b);
                }))
                wires.push_back(i);
        }
    }

    // Closed contacts and long wires lead from its ends to two different poles.
    static bool fed_by_the_loop(const Cone &cone, const std::vector<std::uint32_t> &wires, const State &state,
                                std::uint32_t a, std::uint32_t b) {
        const Compiled &part = cone.circuit;
        boost::disjoint_sets_with_storage<> joined(part.net_count);
        std::vector<std::uint8_t> pole(part.net_count, 0);
        for (const Source &source : part.sources)
            for (std::size_t p = 0; p < source.poles.size(); ++p)
                pole[source.poles[p].net] = (state[source.variable] >> p & 1) == 0;
        const auto join = [&](std::uint32_t one, std::uint32_t other) {
            if (!pole[one] && !pole[other]) // nothing comes through a pole
                joined.union_set(one, other);
        };
        std::vector<std::pair<std::uint32_t, std::uint32_t>> ways;
        for (const Switch &contact : part.switches)
            if (contact.closed(state))
                ways.emplace_back(contact.a, contact.b);
        for (const std::uint32_t i : wires)
            ways.emplace_back(part.impedances[i].a, part.impedances[i].b);
        for (const auto &[one, other] : ways)
            join(one, other);
        const auto poles_of = [&](std::uint32_t net) {
            std::set<std::uint32_t> found;
            if (pole[net])
                return std::set{net};
            for (const auto &[one, other] : ways)
                for (const auto &[at, far] : {std::pair{one, other}, {other, one}})
                    if (pole[far] && !pole[at] && joined.find_set(at) == joined.find_set(net))
                        found.insert(far);
            return found;
        };
        const auto at_a = poles_of(a), at_b = poles_of(b);
        return !at_a.empty() && !at_b.empty() && (at_a.size() > 1 || at_b.size() > 1 || at_a != at_b);
    }

    void report() {
        if (worst_.status == Status::note) {
            decided_.count(coil_volts_rule, "holds");
            return;
        }
        decided_.add({.rule = coil_volts_rule,
                      .status = worst_.status,
                      .subjects = {name_},
                      .text = worst_.text,
                      .witness = {worst_.acts, {}, worst_.ends_in}});
    }

    const Context &context_;
    std::uint32_t index_;
    const Armature &coil_;
    bool tripping_;
    std::uint32_t a_, b_;
    Decided &decided_;
    std::string name_;
    double pulls_in_, most_, leaves_in_, leaves_out_; ///< ratios to rated voltage
    Worst worst_;
};

} // namespace

// Every coil gets what it needs to pull in over its real loop and loses what holds it when its circuit opens.
Decided decide_coil_volts(Tools &tools) {
    Decided decided;
    const auto &armatures = tools.context.compiled.armatures;
    for (std::uint32_t i = 0; i < armatures.size(); ++i) {
        if (armatures[i].kind == Armature::Kind::monitor || armatures[i].rated_v <= 0)
            continue;
        decided.device = armatures[i].device;
        CoilDecision(tools, i, false, decided).decide();
        if (armatures[i].e1 != none)
            CoilDecision(tools, i, true, decided).decide();
    }
    if (tools.context.options.control_lines.empty())
        decided.not_checked.push_back(
            long_wires(tools.context.circuit, tools.context.compiled).empty()
                ? "coil-volts, control loops: no cable with a length is in the circuit, so what is lost along it, and "
                  "what it keeps in after a stop, is not judged; see the sizes"
                : "coil-volts, control loops: what the capacitance between the cores of a cable keeps in after a stop "
                  "is not judged, unless a capacitor stands for it; see the sizes");
    return decided;
}

} // namespace stopspan

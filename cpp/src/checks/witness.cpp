#include "checks/witness.hpp"

#include "checks/fact_text.hpp"

#include <algorithm>

namespace stopspan {
namespace {

constexpr std::string_view slowly = " slow"; // at the end of an act's text

Cone whole(const Context &context, const Reach &reach, std::span<const Fault> faults) {
    Cone cone = cut_cone(context.circuit, context.compiled, context.relevance, reach, Simplify::no);
    for (const Fault &fault : faults)
        add_fault(cone, context.circuit, context.compiled, fault);
    return cone;
}

} // namespace

WitnessRun::WitnessRun(const Context &context, Reach connected, std::span<const Fault> faults)
    : context_(context), reach_(std::move(connected)), cone_(whole(context, reach_, faults)),
      settler_(std::in_place, cone_.circuit) {
    list_acts();
}

void WitnessRun::list_acts() {
    acts_ = possible_acts(cone_.circuit, cone_.actors);
    act_of_.clear();
    for (std::uint32_t i = 0; i < acts_.size(); ++i) {
        act_of_.emplace(acts_[i].text, i);
        if (acts_[i].variable == none)
            (acts_[i].kind == ActKind::lose ? all_lost_ : all_back_) = i;
    }
}

bool WitnessRun::put(std::span<const Fault> faults) {
    for (; !cone_.circuit.faults.empty(); acts_.pop_back()) {
        take_out_fault(cone_);
        act_of_.erase(acts_.back().text);
    }
    bool all = true;
    for (const Fault &fault : faults) {
        const std::uint32_t variable = add_fault(cone_, context_.circuit, context_.compiled, fault);
        all &= variable != none;
        if (variable == none)
            continue;
        act_of_.emplace(fault.text, static_cast<std::uint32_t>(acts_.size()));
        acts_.push_back({ActKind::fail, variable, 0, {1}, false, fault.text});
    }
    settler_.emplace(cone_.circuit);
    return all;
}

std::uint32_t WitnessRun::armature(std::uint32_t whole) const {
    const auto at = std::lower_bound(reach_.armatures.begin(), reach_.armatures.end(), whole);
    return at == reach_.armatures.end() || *at != whole ? none
                                                        : static_cast<std::uint32_t>(at - reach_.armatures.begin());
}

WitnessRun::Result WitnessRun::run(const std::vector<std::string> &acts) {
    Result result;
    const Settled cold = settler_->settle(cone_.circuit.cold());
    result.states = cold.ends;
    result.race = cold.race;
    result.chatter = cold.chatter;
    std::vector<std::string> single;
    for (const std::string &act : acts)
        if (act.starts_with("tap ")) {
            single.push_back("hold " + act.substr(4));
            single.push_back("free " + act.substr(4));
        } else {
            single.push_back(act);
        }
    for (const std::string &text : single)
        act(result, text, &text == &single.back());
    return result;
}

WitnessRun::Result WitnessRun::run_from(State state, const std::string &text) {
    Result result;
    result.states.push_back(std::move(state));
    act(result, text, true);
    return result;
}

void WitnessRun::act(Result &result, const std::string &text, bool last) {
    const auto found = act_of_.find(text);
    std::uint32_t act = found == act_of_.end() ? none : found->second;
    if (act == none && text.find("; ") != std::string::npos) // all sources together, some of them far away
        act = text.starts_with("lose") ? all_lost_ : all_back_;
    if (act == none) { // of something that acts on nothing here
        result.before = result.states;
        return;
    }
    result.before = std::move(result.states);
    result.states.clear();
    result.passed.clear();
    result.race = result.chatter = result.shorted = result.dwelling = false;
    for (const State &state : result.before) {
        if (acts_[act].kind == ActKind::elapse && !allowed(acts_[act], cone_.circuit, state)) {
            result.states.push_back(state); // it does not run in this one
            continue;
        }
        Settled settled = perform(*settler_, state, acts_[act]);
        if (acts_[act].slow && last) {
            const Act &fast = acts_[act_of_.at(text.substr(0, text.size() - slowly.size()))];
            result.dwelling |= dwelling_matters(perform(*settler_, state, fast).sure, settled.sure);
        }
        result.race |= settled.race;
        result.chatter |= settled.chatter;
        result.shorted |= settled.shorted;
        result.states.insert(result.states.end(), settled.ends.begin(), settled.ends.end());
        for (const auto *met : {&settled.passed, &settled.passed_jointly})
            result.passed.insert(result.passed.end(), met->begin(), met->end());
    }
    std::sort(result.states.begin(), result.states.end());
    result.states.erase(std::unique(result.states.begin(), result.states.end()), result.states.end());
}

MotorState WitnessRun::observe(std::uint32_t machine, State &state) {
    settler_->network().evaluate(state);
    return observe_machine(cone_.circuit, machine, state, settler_->network());
}

Tri WitnessRun::runs(std::uint32_t machine, const Result &result) {
    bool on = true, off = true;
    for (State state : result.states) {
        const Tri now = observe(machine, state).runs;
        on &= now == Tri::on;
        off &= now == Tri::off;
    }
    return on ? Tri::on : off ? Tri::off : Tri::maybe;
}

std::vector<std::string> WitnessRun::path_to_pole(const State &state, std::uint32_t from, bool through_loads) {
    const Compiled &compiled = cone_.circuit;
    struct Step {
        std::uint32_t before;
        std::string by;
    };
    std::map<std::uint32_t, Step> came;
    came.emplace(from, Step{none, {}});
    std::vector<std::uint32_t> queue{from};
    std::uint32_t pole = none;
    Network &network = settler_->network();
    std::vector<std::uint8_t> is_pole(compiled.net_count, 0);
    for (const Source &source : compiled.sources)
        for (const Source::Pole &each : source.poles)
            is_pole[each.net] = 1;
    for (std::size_t k = 0; k < queue.size() && pole == none; ++k) {
        const std::uint32_t net = queue[k];
        if (is_pole[net]) {
            const auto volts = network.pole_potential(net);
            if (volts && (volts->rms() > 1 || network.floating(net)))
                pole = net;
            continue;
        }
        const auto follow = [&](std::uint32_t a, std::uint32_t b, const std::string &by) {
            if (a != net && b != net)
                return;
            const std::uint32_t next = a == net ? b : a;
            if (came.try_emplace(next, Step{net, by}).second)
                queue.push_back(next);
        };
        for (const Switch &contact : compiled.switches)
            if ((contact.a == net || contact.b == net) && contact.closed(state))
                follow(contact.a, contact.b,
                       contact.device == none ? "fault" : contact_text(context_.circuit, contact));
        if (through_loads)
            for (const Impedance &load : compiled.impedances)
                if (load.a == net || load.b == net)
                    follow(load.a, load.b, compiled.device_names[load.device]);
    }
    std::vector<std::string> path;
    for (std::uint32_t net = pole; net != none; net = came.at(net).before) {
        path.push_back(compiled.net_names[net]);
        if (came.at(net).before != none)
            path.push_back(came.at(net).by);
    }
    return path;
}

std::vector<std::string> WitnessRun::holding_path(State state, const std::vector<std::uint32_t> &armatures,
                                                  std::uint32_t terminal) {
    settler_->network().evaluate(state);
    for (const bool through_loads : {false, true})
        for (const std::uint32_t whole : armatures) {
            const std::uint32_t index = armature(whole);
            if (index == none)
                continue;
            const Armature &coil = cone_.circuit.armatures[index];
            if (state[coil.variable] == 0 || coil.a1 == none)
                continue;
            for (const std::uint32_t coil_end : {coil.a1, coil.a2}) {
                auto path = path_to_pole(state, coil_end, through_loads);
                if (path.empty())
                    continue;
                path.push_back("coil of " + cone_.circuit.device_names[coil.device]);
                return path;
            }
        }
    return path_to_pole(state, cone_.net_of[terminal], false);
}

std::vector<std::string> WitnessRun::missing_values(State state, const std::vector<std::uint32_t> &armatures) {
    settler_->network().evaluate(state);
    std::vector<std::string> missing;
    for (const std::uint32_t whole : armatures) {
        const std::uint32_t index = armature(whole);
        if (index == none)
            continue;
        const Armature &coil = cone_.circuit.armatures[index];
        if (!coil.unknown_coil || coil.kind != Armature::Kind::coil)
            continue;
        const RatioRange range = settler_->network().coil_ratio(index);
        if (range.high - range.low > 1e-6)
            missing.push_back((coil.dc_coil ? "hold_w of " : "hold_va of ") + cone_.circuit.device_names[coil.device]);
    }
    return missing;
}

} // namespace stopspan

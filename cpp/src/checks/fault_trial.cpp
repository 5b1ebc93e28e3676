#include "checks/fault_trial.hpp"

#include "base/words.hpp"
#include "checks/machine_search.hpp"

#include <algorithm>

namespace stopspan {

std::string to_text(const Noticed &noticed) {
    const bool one = noticed.fuses.size() == 1;
    switch (noticed.how) {
    case Noticed::How::nowhere:
        break;
    case Noticed::How::fuses_blow:
        return (one ? "fuse " : "fuses ") + listed(noticed.fuses) + (one ? " blows" : " blow");
    case Noticed::How::starts:
        return noticed.machine + " starts as it happens, unless something holds it off";
    case Noticed::How::starts_no_more:
        return noticed.machine + " does not start any more";
    case Noticed::How::stops:
        return noticed.machine + " stops";
    case Noticed::How::undecided:
        return "whether anything shows it before is not decided";
    }
    return {};
}

FaultTrial::FaultTrial(const Context &context, const MachineSeen &machine, const std::vector<Acts> &runs, Runs how,
                       std::span<const Fault> faults)
    : context_(context), machine_(machine), runs_(runs), how_(how),
      run_(context, reach_with(context, machine, faults, Extent::feed), faults) {
    for (const Fault &fault : faults)
        take(fault);
}

void FaultTrial::take(const Fault &fault) {
    faults_.push_back(fault.text);
    if (fault.kind == Fault::Kind::jam)
        jammed_.push_back(context_.compiled.variable_of[fault.device]);
}

bool FaultTrial::put(std::span<const Fault> faults) {
    faults_.clear();
    jammed_.clear();
    for (const Fault &fault : faults) {
        if (only_parts(fault))
            return false;
        take(fault);
    }
    return run_.put(faults) && !runs_.empty();
}

FaultTrial::Acts FaultTrial::with(Acts before, const Acts &then) {
    before.insert(before.end(), then.begin(), then.end());
    return before;
}

FaultTrial::Acts FaultTrial::press(std::uint32_t variable, bool on) const {
    return {act_text(context_.actors[variable], context_.compiled.variables[variable].kind, on)};
}

FaultTrial::Acts FaultTrial::run_again() const {
    Acts acts = runs_.front();
    for (const std::uint32_t variable : jammed_)
        std::erase_if(acts, [&](const std::string &act) { return act.ends_with(" " + context_.name(variable)); });
    return acts;
}

FaultTrial::Acts FaultTrial::run_with_faults() const {
    if (jammed_.empty())
        return with(runs_.front(), faults_);
    Acts acts;
    std::set<std::uint32_t> pressed;
    for (const std::string &act : runs_.front()) {
        const auto of = std::find_if(jammed_.begin(), jammed_.end(), [&](std::uint32_t variable) {
            return act.ends_with(" " + context_.name(variable));
        });
        if (of == jammed_.end())
            acts.push_back(act);
        else if (pressed.insert(*of).second)
            acts = with(std::move(acts), press(*of, true));
    }
    for (const std::uint32_t variable : jammed_)
        if (!pressed.contains(variable))
            acts = with(std::move(acts), press(variable, true));
    return with(std::move(acts), faults_);
}

std::optional<Fact> FaultTrial::fact(const Acts &acts) const {
    return Fact{Status::fails, acts, machine_.name + " runs", {}, 0, true};
}

std::optional<Fact> FaultTrial::outlives(std::uint32_t variable) {
    const Acts acted = press(variable, true);
    for (const Acts &run : runs_)
        if (std::find(run.begin(), run.end(), acted.front()) != run.end())
            return std::nullopt; // it takes this to run
    for (const Acts &run : runs_)
        if (const Acts acts = with(with(run, faults_), acted); ends(acts, Tri::on))
            return fact(acts);
    for (const Acts &run : runs_) // it may keep from starting only what does not run yet
        for (const Acts &first : {with(faults_, acted), with(acted, faults_)})
            if (const Acts acts = with(first, run); ends(acts, Tri::on))
                return fact(acts);
    return std::nullopt;
}

bool FaultTrial::leaves_held(const Acts &run) {
    return std::any_of(run.begin(), run.end(), [&](const std::string &act) {
        return act.starts_with("hold ") && std::find(run.begin(), run.end(), "free " + act.substr(5)) == run.end();
    });
}

std::optional<Fact> FaultTrial::starts() {
    if (ends(faults_, Tri::on))
        return fact(faults_);
    if (ends(faults_, Tri::off))
        for (std::uint32_t v = 0; v < run_.cone().circuit.variables.size(); ++v)
            if (const auto &members = run_.cone().members[v];
                run_.cone().circuit.variables[v].kind == Variable::Kind::actuator &&
                context_.stop_of[members[0]] == none && !machine_.is_own_start(members[0]))
                if (const Acts acts = with(faults_, press(members[0], true)); ends(acts, Tri::on))
                    return fact(acts);
    for (const Acts &run : runs_) {
        if (leaves_held(run))
            continue; // a note at most
        const Acts faulty = with(run, faults_);
        std::vector<std::pair<Acts, Acts>> ways; // off and on again
        for (const std::uint32_t s : machine_.reach.sources) {
            const auto &poles = context_.compiled.sources[s].poles;
            if (std::any_of(poles.begin(), poles.end(),
                            [&](const Source::Pole &pole) { return context_.relevance.fed_when_lost(pole.net); }))
                continue; // from outside what is tried here
            const std::string &source = context_.name(context_.compiled.sources[s].variable);
            ways.emplace_back(Acts{"lose " + source}, Acts{"restore " + source});
        }
        const auto and_back = [&](std::uint32_t variable) {
            ways.emplace_back(press(variable, true), press(variable, false));
        };
        for (const auto &[stop, asked] : machine_.asked)
            if (asked == Asked::cut)
                and_back(context_.stops[stop].variable);
        for (const std::uint32_t variable : machine_.power_variables)
            if (context_.compiled.variables[variable].kind == Variable::Kind::isolator)
                and_back(variable);
        for (const auto &[away, back] : ways)
            if (ends(with(faulty, away), Tri::off))
                if (const Acts acts = with(with(faulty, away), back); ends(acts, Tri::on))
                    return fact(acts);
    }
    return std::nullopt;
}

bool FaultTrial::shows_once_used(std::uint32_t variable) {
    const Acts used = with(press(variable, true), press(variable, false));
    return ends(with(with(run_with_faults(), used), run_again()), Tri::off);
}

std::vector<std::string> FaultTrial::blown(const WitnessRun::Result &after) const {
    const Compiled &part = run_.cone().circuit;
    std::vector<std::string> fuses;
    for (std::uint32_t v = 0; v < part.variables.size(); ++v)
        if (part.variables[v].kind == Variable::Kind::fuse &&
            std::all_of(after.states.begin(), after.states.end(), [&](const State &state) { return state[v] != 0; }))
            fuses.push_back(run_.cone().actors[v].designation);
    return fuses;
}

Noticed FaultTrial::noticed() {
    if (ends(faults_, Tri::on))
        return {Noticed::How::starts, machine_.name};
    if (runs_.empty() || how_ != Runs::freely)
        return {Noticed::How::undecided, machine_.name};
    const Acts running = run_with_faults();
    const WitnessRun::Result after = run_.run(running);
    if (auto fuses = blown(after); !fuses.empty())
        return {Noticed::How::fuses_blow, machine_.name, std::move(fuses)};
    const bool stops = run_.runs(machine_.index, after) == Tri::off;
    Acts again = running;
    if (!stops)
        for (const char *act : {"lose ", "restore "})
            for (const std::uint32_t s : machine_.reach.sources)
                if (context_.compiled.sources[s].feed == Source::Feed::own)
                    again.push_back(act + context_.name(context_.compiled.sources[s].variable));
    if (ends(with(again, run_again()), Tri::off))
        return {Noticed::How::starts_no_more, machine_.name};
    return {stops ? Noticed::How::stops : Noticed::How::nowhere, machine_.name};
}

// Of a machine that runs only perhaps nobody can tell that it does not.
bool FaultTrial::shows() {
    if (how_ == Runs::freely)
        return noticed().how != Noticed::How::nowhere;
    if (ends(faults_, Tri::on))
        return true;
    const Acts running = run_with_faults();
    if (!blown(run_.run(running)).empty())
        return true;
    if (how_ == Runs::perhaps)
        return false;
    Acts let_go = running;
    for (const std::string &act : run_again())
        if (act.starts_with("hold "))
            let_go.push_back("free " + act.substr(5));
    return ends(let_go, Tri::on) || ends(with(let_go, run_again()), Tri::off);
}

} // namespace stopspan

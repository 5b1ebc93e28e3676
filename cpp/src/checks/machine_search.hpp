#pragma once

#include "checks/contact_race.hpp"
#include "checks/context.hpp"
#include "checks/facts.hpp"
#include "switching/faults.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <optional>
#include <set>

namespace stopspan {

/// What a machine does in one state.
struct Glimpse {
    Tri runs = Tri::off;
    Mode mode = Mode::stopped;
    StillFed fed = StillFed::no; ///< only asked when it does not run
};

/// What a stop is found to do when it does `a` in one state or mode and `b` in another.
Found joint(Found a, Found b, Asked asked);

class MachineSearch;

/// How an on-delay timer came in.
struct TimerSeen {
    bool by_itself = false;        ///< other than by one of the machine's own starts; or a stop did not take it back
    std::set<std::uint32_t> after; ///< once these other timers had run out
    struct Way {
        std::uint32_t from, act, to; ///< of the exploration
    };
    std::vector<Way> ways; ///< the first few in which it came in, or stayed in, by itself
    void saw_by_itself(const MachineSearch &search, const Exploration::Transition &t, std::uint32_t timer);
};
/// Timers, by the variable of their delayed contacts, that only ever come in by a start given for the machine: what
/// they start when they run out was started by somebody.
std::set<std::uint32_t> commanded(std::map<std::uint32_t, TimerSeen> timers);

/// Things with positions in all that is connected to the machine.
std::size_t connected_variables(const Context &context, const MachineSeen &machine);
/// All that is connected to the machine is small enough to be tried as a whole.
bool is_small(const Context &context, const MachineSeen &machine);
/// How much of it a search looks at first: all where that is small, else what is relevant.
Extent first_extent(const Context &context, const MachineSeen &machine);
/// What can act on the machine once the faults are there: more than before, where they join something else to it.
Reach reach_with(const Context &context, const MachineSeen &machine, std::span<const Fault> faults, Extent extent);

/// What a search saw of a machine beside facts.
struct SearchSeen {
    std::map<std::uint32_t, std::map<Mode, Found>> found; ///< what each stop (index into Context::stops) did, per mode
    std::set<Mode> modes;                                 ///< the machine was seen in
    bool ever_runs = false;
    std::set<std::uint32_t> ever_cut;     ///< stops that, with no other actuated, were seen to cut it in some state
    std::vector<std::uint32_t> variables; ///< of the whole circuit, that were tried; ascending

    bool reaches(std::uint32_t variable) const {
        return std::binary_search(variables.begin(), variables.end(), variable);
    }
};

/// The exact search: every reachable state of what can influence a machine, seen once by every rule.
class MachineSearch {
public:
    /// @param extent  what is relevant, or the whole connected circuit
    /// @param faults  may happen at any moment
    MachineSearch(const Context &context, const MachineSeen &machine, Extent extent,
                  std::span<const Fault> faults = {});

    /// Lets run() try only these acts; all sources together are lost anyway.
    void only(std::function<bool(const Act &, Variable::Kind, const ActorInfo &)> wanted) {
        wanted_ = std::move(wanted);
    }
    /// Shows every transition, beside the rules' judges.
    void watch(std::function<void(const Exploration::Transition &)> see) { watch_ = std::move(see); }
    /// Lists what can be done, for another way of finding what it leads to than run().
    void prepare();
    /// @param enough  asked whenever a fact was added or became worse: true ends the search
    /// @returns false past the budget or when it was enough
    bool run(std::size_t state_budget, const std::function<bool(const Facts &)> &enough = {});

    const Facts &facts() const { return facts_; }
    /// What fails, though the fact of it was met as one of several ends: the same met surely; null: it never was.
    const Fact *surely(const std::pair<std::string, std::string> &key);
    /// Starts by a timer that are no facts, as somebody gave them and every stop takes them back.
    const Facts &delayed_starts() const { return delayed_starts_; }
    /// Claims of which something was passed over.
    const std::set<std::pair<std::string, std::string>> &passed_over() const { return passed_over_; }
    const SearchSeen &seen() const { return seen_; }
    /// Devices that make the cone large, for a claim left undecided.
    std::string size_text() const;
    bool exact() const { return cone_.exact; }
    std::size_t states() const { return exploration_ ? exploration_->nodes().size() : 0; }
    std::size_t variables() const { return cone_.circuit.variables.size(); }
    /// Shortest acts after which the machine surely (or only maybe) runs with no start, reset, jog or test device held;
    /// none when it never does. Acts that leave every stop at rest are preferred.
    /// @param held  with one held, too
    std::optional<std::vector<std::string>> shortest_run(Tri runs = Tri::on, bool held = false);
    /// Shortest acts for each mode it surely runs in with no start, reset, jog or test device held, first those that
    /// lead nowhere else, then the shortest first; where those keep a stop actuated, also the shortest that keep none.
    std::vector<std::vector<std::string>> ways_to_run();

    // ---- for the rules' judges
    const Context &context() const { return context_; }
    const MachineSeen &machine() const { return machine_; }
    const Cone &cone() const { return cone_; }
    Exploration &exploration() { return *exploration_; }
    const State &state(std::uint32_t node) const { return exploration_->nodes()[node].state; }
    const Act &act(const Exploration::Transition &t) const { return exploration_->acts()[t.act]; }
    Glimpse glimpse(std::uint32_t node);
    Glimpse glimpse(State state);
    /// Could the machine come to run, or to stop, from this node with nobody doing anything (a coil in its band)? Not
    /// told of a part, where it may only seem so: confirmed() asks the whole. Without a line, or behind a blown fuse,
    /// nearly everything in a part seems so: what would be excused by it is passed over, for the whole to be asked.
    bool drifts(std::uint32_t node);
    void saw_cut(std::uint32_t stop, std::uint32_t from);
    /// What a stop that acts on nothing here does not prevent: the worst start, or run while a button is held.
    void saw_beaten(Status status, const Exploration::Transition &t, std::string ends_in, int way) {
        if (!beaten_ || severity(status) > severity(beaten_->status))
            beaten_ = Fact{status, exploration_->acts_to(t.from, t.act), std::move(ends_in), "",
                           way,    exploration_->nodes()[t.from].sure};
    }
    const std::optional<Fact> &beaten() const { return beaten_; }
    /// Ends once every running timer has run out.
    std::vector<State> after_delays(const State &state);
    /// Variables of the whole circuit that an act may be done by: those its variable stands for.
    const std::vector<std::uint32_t> &members(const Act &act) const { return cone_.members[act.variable]; }
    /// A momentary device that is no stop is held, other than `except`; what is jammed takes no hand.
    bool start_held(const State &state, std::uint32_t except = none) const;
    bool momentary_held(const State &state, std::uint32_t except = none) const;
    /// Is any device this variable of the cone stands for a stop?
    /// @param cutting  that is asked to cut the machine
    bool is_stop(std::uint32_t variable, bool cutting = false) const;
    bool stop_actuated(const State &state, bool cutting = false) const;
    /// A drive runs it: its run command can go before its power does.
    bool has_drive() const;
    /// Keeps a fact. Acts of a row of devices are told as done by `member` (a variable of the whole circuit).
    void record(const std::string &rule, const std::string &subject, Status status, const Exploration::Transition &t,
                std::string ends_in, std::uint32_t member = none, Mode mode = Mode::stopped, int way = 0);
    /// Something that in this part may be no doing of the act, or nothing at all: the whole is to be asked.
    /// @param subject  empty: whatever does it
    void pass_over(const std::string &rule, const std::string &subject) {
        if (!exact())
            passed_over_.emplace(rule, subject);
    }
    /// Acts (indices into the exploration's), as done by `member` where one of its row is meant; the last `untouched`
    /// are told as they are.
    std::vector<std::string> told(const std::vector<std::uint32_t> &way_there, std::size_t untouched,
                                  std::uint32_t member) const;
    RaceWatch &races() { return *races_; }
    void saw_stop(std::uint32_t stop, Mode mode, Found found);
    /// This stop, done by `member`, left the machine running, or perhaps.
    void saw_run_on(const std::string &stop, const Exploration::Transition &t, std::uint32_t member) {
        if (const auto [entry, fresh] = run_on_.try_emplace(stop); fresh)
            entry->second = acts_to(t.from, t.act, member);
    }
    std::map<std::uint32_t, TimerSeen> &timers() { return timers_; }

private:
    std::vector<std::uint32_t> way_to(std::uint32_t node) const; ///< indices into the exploration's acts
    std::vector<std::string> acts_to(std::uint32_t node, std::uint32_t last_act, std::uint32_t member) const;
    void judge_cold_start();
    void pass_over_starts_from_outside(const Exploration::Transition &t);
    void excuse_timed_starts();
    void tell_timed_start(const TimerSeen &timer, std::uint32_t timed, Fact &fact);
    bool fault_is_to_come(std::uint32_t node) const;

    const Context &context_;
    const MachineSeen &machine_;
    Cone cone_;
    std::function<bool(const Act &, Variable::Kind, const ActorInfo &)> wanted_;
    std::function<void(const Exploration::Transition &)> watch_;
    std::optional<Exploration> exploration_;
    std::optional<RaceWatch> races_;
    std::vector<std::optional<Glimpse>> glimpses_;
    struct Failing {
        struct Seen {
            std::string ends_in;
            Mode mode;
            int way;
            std::uint32_t member;
        };
        bool surely = false;                                          ///< from a node that is met surely
        std::map<std::pair<std::uint32_t, std::uint32_t>, Seen> seen; ///< by node and act
    };
    Facts facts_, delayed_starts_, surely_;
    std::set<std::pair<std::string, std::string>> passed_over_;
    std::map<std::pair<std::string, std::string>, Failing> failing_; ///< what fails, by claim
    std::size_t recorded_ = 0;                                       ///< how often a fact was added or became worse
    SearchSeen seen_;
    std::optional<Fact> beaten_;
    std::map<std::uint32_t, TimerSeen> timers_;              ///< by the variable of their delayed contacts
    std::map<std::string, std::vector<std::string>> run_on_; ///< by stop: shortest acts
    std::uint32_t cone_machine_;
};

std::string mode_text(Mode mode); ///< empty: stopped
/// What a timer starts is known to be a start of its own only once a search came to its end: see commanded().
bool may_be_excused(const Context &context, const std::string &rule, const std::string &subject);
/// What started a machine, done by `member` of a row, decides which rule it breaks: power coming back, a stop let go or
/// a zone reset, something closed again, or anything else.
std::string_view start_rule_of(const MachineSearch &search, const Act &act, std::uint32_t member);

// One judge per rule or family of rules: sees a transition, records what does not hold.
void judge_stop_cuts(MachineSearch &search, const Exploration::Transition &t);
void judge_stop_spares(MachineSearch &search, const Exploration::Transition &t);
void judge_stop_beats_start(MachineSearch &search, const Exploration::Transition &t);
void judge_starts(MachineSearch &search, const Exploration::Transition &t);
void judge_overload_cuts(MachineSearch &search, const Exploration::Transition &t);
void judge_timers(MachineSearch &search, const Exploration::Transition &t);
void judge_races(MachineSearch &search, const Exploration::Transition &t);

} // namespace stopspan

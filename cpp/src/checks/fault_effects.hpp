#pragma once

#include "checks/alike_machines.hpp"
#include "checks/fault_trial.hpp"
#include "checks/hanging.hpp"
#include "checks/machine_check.hpp"
#include "checks/proofs.hpp"
#include "checks/stop_rows.hpp"

#include <functional>

namespace stopspan {

/// A claim that holds in the healthy circuit and not with a fault.
struct Loss {
    std::uint32_t machine;
    std::string rule, subject; ///< "stop-cuts", "ES1"
    Fact fact;                 ///< its acts contain the fault
    std::vector<std::string> path;
};

/// What one fault does.
struct FaultEffect {
    std::vector<Loss> losses;
    std::vector<std::uint32_t> undecided;    ///< machines for which the budget ran out
    Noticed noticed;                         ///< only worked out where something is lost
    std::vector<std::uint32_t> incomplete{}; ///< machines of which more may be lost than was found

    /// What it does to other machines.
    void add(FaultEffect other);
};

/// @pre something is lost
const Loss &worst_of(const FaultEffect &effect);
/// "fuse F2 blows."
std::string noticed_text(const FaultEffect &effect);

/// What faults and what they act on are called.
class FaultWords {
public:
    /// @param nets  names; null: only faults of devices are told of
    FaultWords(Names machines, Names devices, const std::vector<std::string> *nets)
        : machines_(std::move(machines)), devices_(std::move(devices)), nets_(nets) {}

    const Names &machines() const { return machines_; }
    const std::string &device(std::uint32_t device) const { return devices_[device]; }
    /// "M1, M2"
    std::string names(const std::vector<std::uint32_t> &machines) const;
    /// "M1 is no longer stopped by ES1; M2 starts with no start given"
    std::string consequences(const FaultEffect &effect) const;
    /// What the fault is at, then the stops, overloads and machines it acts on.
    std::vector<std::string> subjects(const Fault &fault, const FaultEffect &effect) const;

private:
    Names machines_, devices_;
    const std::vector<std::string> *nets_;
};

class Retelling;

/// Finds what faults do, machine by machine: what the structure proves is untouched by most of them; the rest is
/// searched with the fault as one more thing that may happen at any moment.
class FaultJudge {
public:
    FaultJudge(Tools &tools, const std::vector<MachineSeen> &machines);
    /// @param most_work  in network_work(), some hundred thousand a second: what the single faults of a machine may
    /// take
    ///                   all together
    FaultJudge(Tools &tools, const std::vector<MachineSeen> &machines, std::size_t most_work);
    /// Works beside the other with tools of its own, on other machines.
    FaultJudge(Tools &tools, const FaultJudge &other);
    FaultEffect effect_of(const FaultCase &one);
    /// What each of many does, worked out once for machines that are alike.
    std::vector<FaultEffect> effects_of(const std::vector<FaultCase> &cases);
    /// single_faults() with what each does, worked out once.
    const std::vector<std::pair<FaultCase, FaultEffect>> &singles();
    /// How many faults each exclusion leaves out. @pre singles() was asked for
    const std::map<std::string_view, std::size_t> &left_out() const { return left_out_; }
    /// Of those of stops the cases with what each does: they are then gone from here.
    std::vector<std::pair<FaultCase, FaultEffect>> take_faults_of_stops();
    /// Some machine's single faults took all the work they may take; in a part of a circuit: nearly all.
    bool at_bounds() const;
    /// What several faults at once, each harmless by itself, take away of a machine: all of it, or only stops.
    enum class Of { everything, stops };
    FaultEffect lost(std::span<const Fault> faults, std::uint32_t machine, Of what);
    /// Nothing the machine surely does shows this fault: no fuse blows, it does not stop, and starts as before.
    bool hides(const Fault &fault, std::uint32_t machine);
    /// No way to run this machine was found, and all were looked for.
    bool never_runs(std::uint32_t machine);
    /// The healthy circuit stops the machine by this stop (index into Context::stops) from every way of running, and no
    /// start beats it.
    bool surely_stops(std::uint32_t stop, std::uint32_t machine);
    /// The healthy circuit takes power off the machine by this overload's trip (its variable).
    bool surely_trips(std::uint32_t overload, std::uint32_t machine);
    /// Something the machine was seen to do shows this fault: by itself, or once the stop was used and let go.
    bool shows(const Fault &fault, std::uint32_t machine);
    bool shows_once_used(const Fault &fault, std::uint32_t machine, std::uint32_t stop);

    const Context &context() const { return context_; }
    const std::vector<MachineSeen> &machines() const { return machines_; }
    const AlikeMachines &alike(); ///< worked out once
    const FaultWords &words() const { return words_; }

private:
    using Key = std::pair<std::string, std::string>; ///< rule and subject
    /// Acts after which a machine runs.
    struct Ways {
        std::vector<FaultTrial::Acts> surely, perhaps;
        bool none() const { return surely.empty() && perhaps.empty(); }
    };
    /// What faults do, and how that was found: others that part the same rows of stops do the same.
    struct Judged {
        std::vector<std::string> faults;               ///< their texts
        std::vector<std::vector<std::uint32_t>> stops; ///< per group
        FaultEffect effect;
        bool searched = false;
    };
    /// What holds without a fault.
    struct Healthy {
        bool known = false;
        bool proven = false;    ///< all of it by structure
        Facts failing;          ///< what does not hold anyway
        Facts delayed_starts;   ///< by timers: given, as long as every stop takes them back
        std::set<Key> doubtful; ///< what perhaps does not, either: told by its own rule
        bool complete = true;
        std::size_t work = 0; ///< spent on faults
        Ways runs;            ///< with no start held; those in which it surely runs the shortest of each mode
        Ways held_runs;       ///< with a start held or not
        /// The surest ways to run it.
        std::pair<const std::vector<FaultTrial::Acts> &, FaultTrial::Runs> ways() const;
        bool all_runs_looked_for = false;
        bool runs_by_stops = false; ///< some way to run acts on a stop: its like cannot stand for it
        std::unique_ptr<FaultTrial> trial;
        std::unique_ptr<WitnessRun> whole;
        std::optional<bool> full_volts; ///< FarReach::fed_by_contacts_only()
        std::optional<Hanging> hanging;
        std::map<std::pair<std::uint32_t, std::uint32_t>, bool> harmless; ///< own nets joined now and then; none: earth
        std::map<std::pair<std::string, bool>, Judged> judged; ///< by StopGroups::faults_like_these; only stops or all
        /// What does not cut is no stop to lose.
        bool fails_anyway(const std::string &rule, const std::string &subject) const {
            return failing.contains({rule, subject}) ||
                   (rule == "stop-beats-start" && failing.contains({"stop-cuts", subject}));
        }
        bool held(const std::string &rule, const std::string &subject) const {
            return !fails_anyway(rule, subject) && !doubtful.contains({rule, subject});
        }
    };
    /// What the structure does not prove of a machine.
    struct Open {
        std::vector<std::uint32_t> stops, trips; ///< variables
        bool start = false;
        bool nothing() const { return stops.empty() && trips.empty() && !start; }
    };
    /// What a search shows, asked of the whole circuit.
    struct Seen {
        Facts shown;
        std::map<Key, std::vector<std::string>> paths; ///< what holds the machine on
        std::set<Key> doubtful;                        ///< shown by a part, not by the whole
        bool complete = false;
        std::optional<Noticed> noticed; ///< where that is known, too
    };
    Healthy &healthy(std::uint32_t machine);
    static void find_runs(Healthy &one, const MachineSeen &machine, MachineSearch &search, WitnessRun &whole);
    Seen see(MachineSearch &search, std::span<const Fault> faults, const MachineSeen &machine, WitnessRun &whole,
             const std::function<void(MachineSearch &)> &limit,
             const std::function<bool(const std::string &rule, const std::string &subject)> &asked,
             const std::function<bool(const Facts &)> &enough);
    static bool can_be_tried(std::span<const Fault> faults, const Healthy &before);
    FaultTrial &trial_with(std::span<const Fault> faults, const MachineSeen &machine, std::optional<FaultTrial> &wider);
    /// All that is connected, with the faults put in.
    /// @param wider  made where the faults join something else to the machine
    WitnessRun &whole_with(std::span<const Fault> faults, const MachineSeen &machine, std::optional<WitnessRun> &wider);
    Open not_proven(const MachineSeen &machine, const StopGroups &groups, bool only_stops, Lines lines);
    bool parts_power(const Fault &fault, const MachineSeen &machine);
    /// What of it faults may take away.
    Open left_open(std::span<const Fault> faults, const MachineSeen &machine, const StopGroups &groups,
                   bool only_stops);
    /// As effect_on(); nothing where the structure does not tell.
    /// @param like_these  then gets StopGroups::faults_like_these
    std::optional<FaultEffect> effect_by_structure(const Fault &fault, std::uint32_t machine, std::string &like_these);
    void keep_judged(const Fault &fault, std::uint32_t machine, const std::string &like_these,
                     const FaultEffect &effect);
    /// What a fault does to a machine, told of the like of both; what holds it on is asked anew.
    /// @returns nothing when the whole circuit does not show it
    std::optional<FaultEffect> as_alike(const Retelling &like, const MachineSurroundings &around, const Fault &fault,
                                        std::uint32_t machine);
    FaultTrial &trial(std::uint32_t machine);
    FaultEffect effect_on(const Fault &fault, std::uint32_t machine);
    /// The effects of the cases of these machines, each judged once for all that are alike.
    /// @param known  of some, by machine and case
    void judge_alike(const std::vector<std::uint32_t> &machines, const std::vector<FaultCase> &cases,
                     const std::vector<std::vector<std::uint32_t>> &cases_of,
                     const std::function<std::optional<FaultEffect>(std::uint32_t machine, const Fault &fault)> &known,
                     std::vector<std::vector<FaultEffect>> &effects);
    /// Works on each of these machines, several at a time, with tools beside these.
    void on_each(const std::vector<std::uint32_t> &machines,
                 const std::function<void(FaultJudge &beside, std::uint32_t machine)> &work);
    bool takes_an_act_away(const Fault &fault) const;
    void act_taken_away(const Fault &fault, std::uint32_t machine, FaultEffect &effect);
    void judge(std::span<const Fault> faults, const MachineSeen &machine, bool only_stops, FaultEffect &effect);
    /// @returns whether states were searched
    bool judge(std::span<const Fault> faults, const MachineSeen &machine, const StopGroups &groups, bool only_stops,
               FaultEffect &effect);
    /// Acts, and those that take their place when another stop or fault does.
    using Renamed = std::map<std::string, std::string>;
    Renamed acts_of(std::uint32_t from, std::uint32_t to) const;
    /// @returns nothing when the whole circuit does not show it
    std::optional<FaultEffect> as_judged(const Judged &like, std::span<const Fault> faults, const MachineSeen &machine,
                                         const StopGroups &groups);
    /// @returns false when it may not be
    bool hangs_harmless(std::span<const Fault> faults, const MachineSeen &machine);
    /// @returns false when not all of it shows
    bool all_shown(std::span<const Fault> faults, const MachineSeen &machine, const StopGroups &groups,
                   const Open &open, FaultEffect &effect);
    void search(std::span<const Fault> faults, const MachineSeen &machine, const Open &open, bool only_stops,
                FaultEffect &effect);

    Tools &tools_;
    const Context &context_;
    const std::vector<MachineSeen> &machines_;
    FaultWords words_;
    std::shared_ptr<const StopRows> rows_;
    std::unique_ptr<const AlikeMachines> alike_;
    std::shared_ptr<std::vector<Healthy>> healthy_; ///< per machine; each is the work of one thread at a time
    std::optional<std::vector<std::pair<FaultCase, FaultEffect>>> singles_;
    std::map<std::string_view, std::size_t> left_out_;
    std::size_t most_work_;
    bool bounded_ = false; ///< single faults are many, and what is not tried of them is told
};

Decided decide_earth_faults(FaultJudge &judge);
Decided decide_single_faults(FaultJudge &judge);
Decided decide_hidden_faults(FaultJudge &judge);

} // namespace stopspan

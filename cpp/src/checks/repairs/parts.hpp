#pragma once

#include "checks/repairs/change.hpp"
#include "checks/repairs/trial.hpp"

#include <deque>
#include <memory>

namespace stopspan {

// None of these grows with the installation.
constexpr std::size_t most_devices = 70;    // of a part that is checked again and again
constexpr std::size_t most_influenced = 12; // machines that one change may reach

/// What faults of a kind take away, wherever they are.
struct LostToFaults {
    std::string faults;             ///< "weld "
    std::set<std::string> subjects; ///< stops, overloads and machines
};

/// Devices cut out of the circuit, with what they do as they are.
struct RepairPart {
    Circuit circuit;
    Behaviour before;
    mutable std::optional<std::set<FindingKey>> to_earth;               ///< what earth faults do, once it was asked
    mutable std::map<std::string, std::vector<LostToFaults>> by_faults; ///< per rule that was asked
    std::size_t work;                                                   ///< in network_work(), to see it
    RepairPart(Circuit devices, Behaviour as_they_are, std::size_t took)
        : circuit(std::move(devices)), before(std::move(as_they_are)), work(took) {}
};
using PartPointer = std::shared_ptr<const RepairPart>;

/// Cuts out what a repair is tried on, and tells what a change to it must not make worse.
class RepairParts {
public:
    /// @param known  what does not hold in the whole
    RepairParts(const Context &context, const std::vector<MachineSeen> &machines, std::set<FindingKey> known)
        : context_(context), machines_(machines), known_findings_(std::move(known)),
          machine_names_(context.compiled.machines.begin(), context.compiled.machines.end()) {}

    const Context &context() const { return context_; }
    const std::vector<MachineSeen> &machines() const { return machines_; }
    const std::set<FindingKey> &known_findings() const { return known_findings_; }
    bool is_machine(const std::string &name) const { return machine_names_.contains(name); }
    std::size_t end_of_work() const { return end_of_work_; } ///< in network_work()
    /// At least so much more from now on.
    void allow(std::size_t work) { end_of_work_ = std::max(end_of_work_, network_work() + work); }

    /// What acts on the machine; and on the finding's devices, where that is not too much or no machine is named.
    PartPointer part_of(const Finding &finding, const std::vector<std::string> &helpers);
    /// What acts on these machines, or all there is. @returns null when that is too much
    PartPointer part_of_machines(const std::vector<std::uint32_t> &machines);
    PartPointer part_of_all();
    /// The part with all else that a change can reach.
    /// @param touched  see touched_nets()
    /// @param most  machines and loads
    /// @returns null when that is too much to try
    PartPointer with_all_influenced(const std::vector<std::string> &touched, const PartPointer &part,
                                    std::size_t most = most_influenced);
    /// Contactors and relays that a stop of the finding acts on, when it does not act on the machine.
    std::vector<std::string> helpers_of(const Finding &finding) const;

    CheckOptions options_for(const Circuit &circuit, std::vector<std::string> rules) const;
    /// @param before  see behaviour_of()
    Behaviour trial(const Circuit &circuit, const Behaviour *before) const;
    std::set<FindingKey> found_by(const std::string &rule, const Circuit &circuit) const;
    /// What a part does as it is; what earth faults do in it is no part of its behaviour, and asked apart.
    const std::set<FindingKey> &found_in(const RepairPart &part, const std::string &rule) const;
    /// A change that lets an earth fault do what it did not do before is no repair.
    /// @returns what earth faults still do, where they are asked about
    std::optional<std::set<FindingKey>> still_to_earth(const Circuit &changed, const RepairPart &part) const;
    /// A change brings wires and contacts, and each of them can fail like those that it stands among. What it must not
    /// do is let a kind of fault take away what no such fault did.
    bool faults_no_worse(const Circuit &changed, const RepairPart &part, const std::vector<std::string> &rules) const;
    /// What motors feed back into a line that is lost reaches coils from far beyond a part: asked where that is not
    /// much.
    /// @param changes  one after the other
    bool no_worse_fed_back(const std::vector<Change> &changes) const;
    /// What was told as the repair of something that does not hold.
    void remember(const Change &told) { told_.push_back(told); }
    const std::vector<Change> &told() const { return told_; }
    /// Rules of faults that are held against a target.
    std::vector<std::string> rules_of_targets() const;

private:
    /// Machines and loads beyond the part that the change can reach.
    struct Beyond {
        std::set<std::uint32_t> machines, loads;
    };
    Beyond beyond(const std::vector<std::string> &touched, const Circuit &part);
    const MachineSeen *machine_of(const Finding &finding) const;
    void add_reach(const Seeds &seeds, std::set<std::uint32_t> &devices) const;
    void add_coils_at_links(std::set<std::uint32_t> &devices) const;
    void add_with_motor(const std::string &contactor, std::set<std::uint32_t> &devices) const;
    void add_devices(const Reach &reach, std::set<std::uint32_t> &devices) const;
    PartPointer cut_out(const std::set<std::uint32_t> &devices, std::size_t most);
    Reach reach_of_load(std::uint32_t index) const;
    void find_reaching();
    bool failed_before(const std::string &name, const std::set<std::string> &with,
                       const std::set<FindingKey> &findings) const;
    /// What does not hold of these rules in the whole, asked now where the verdict is of other rules alone.
    const std::set<FindingKey> &known_of(const std::vector<std::string> &rules) const;
    std::vector<LostToFaults> lost_by_faults(const std::string &rule, const Circuit &circuit,
                                             const Circuit &part) const;

    // In network_work(): some millions a second.
    static constexpr std::size_t work_per_verdict = 2'000'000;

    const Context &context_;
    const std::vector<MachineSeen> &machines_;
    std::set<FindingKey> known_findings_;
    mutable std::optional<std::set<FindingKey>> known_besides_;
    std::set<std::string> machine_names_;
    std::vector<Change> told_;
    std::deque<PartPointer> parts_;                                              ///< the newest first
    std::vector<std::vector<std::uint32_t>> machines_reaching_, loads_reaching_; ///< per net; made when first needed
    std::size_t end_of_work_ = network_work() + work_per_verdict;
};

} // namespace stopspan

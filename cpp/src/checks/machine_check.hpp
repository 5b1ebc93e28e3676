#pragma once

#include "checks/machine_search.hpp"
#include "checks/proofs.hpp"
#include "checks/witness.hpp"

#include <functional>
#include <memory>

namespace stopspan {

/// Where a finding stands among those of its rule.
struct Order {
    std::uint32_t phase = 0;     ///< what the rule looks at first comes first
    std::uint32_t device = none; ///< then by devices; none: the one it is about
    std::uint32_t detail = 0;    ///< then by what there is of the device: at_terminal(), or less
    static std::uint32_t at_terminal(std::uint32_t terminal) { return terminal + first_terminal; }
    static constexpr std::uint32_t first_terminal = 2;
};

/// What was decided about one machine (or kept load), or device by device.
struct Decided {
    std::vector<Finding> findings;
    std::vector<std::uint32_t> devices; ///< per finding: what it is about; none: all that this is about
    std::vector<Order> orders;          ///< per finding
    std::vector<MatrixCell> cells;
    struct Count {
        std::string_view rule, status; ///< of the table of rules; a word that lasts
        std::size_t times;
        std::uint32_t device = none; ///< as of a finding
    };
    std::vector<Count> counts;
    std::vector<std::string> not_checked;
    std::vector<Walk> walks;
    bool asks_past_lines = false; ///< hangs on what others, anywhere, feed back into a line that is lost
    bool fed_back_left = false;   ///< of what is fed back into such a line, or behind a blown fuse, not all was tried
    bool indivisible = false;     ///< of no one device, or it hangs on how much else there was to do
    std::uint32_t device = none;  ///< what the next counts and findings are about
    Order order{};                ///< of the next findings
    /// @param status  "holds", or a status as to_text() gives it
    void count(std::string_view rule, std::string_view status, std::size_t times = 1);
    void add(Finding finding) {
        count(finding.rule, to_text(finding.status));
        findings.push_back(std::move(finding));
        devices.push_back(device);
        orders.push_back(order);
    }
    /// Findings, their counts and whether they can be divided: what was decided of more devices by the same rule.
    void add(Decided more);
};

/// One worker's tools: nothing in it is shared.
struct Tools {
    explicit Tools(const Context &wanted) : context(wanted), structure(wanted.structure) {}
    const Context &context;
    Structure structure;
    /// For what is connected to the seeds; kept until something else is asked for.
    WitnessRun &witness_run(const Seeds &seeds, Extent extent = Extent::everything) {
        Reach connected = reach_of(context.compiled, context.relevance, seeds, extent);
        if (!witness || witness->reach().nets != connected.nets)
            witness = std::make_unique<WitnessRun>(context, std::move(connected));
        return *witness;
    }
    void forget_witness_run() { witness.reset(); }
    /// Of these armatures and what acts on them. Machines that lock each other out have them in common: kept until
    /// others are asked for.
    const std::optional<OrdersOfMoving> &every_order_of_moving(const std::vector<std::uint32_t> &armatures);

private:
    std::unique_ptr<WitnessRun> witness;
    std::vector<std::uint32_t> orders_of;
    std::optional<OrdersOfMoving> orders;
};

class OutcomesBefore;

/// Decides every machine rule for one machine: structure, then states, then the budget.
/// @param before      what was found of others
/// @param proven_cut  stops already proven to cut it, ascending
Decided decide_machine(Tools &tools, OutcomesBefore &before, const MachineSeen &machine,
                       const std::vector<std::uint32_t> &proven_cut);
/// Decides stop-spares for a load, if it is kept or asked about.
Decided decide_load(Tools &tools, const LoadSeen &load);
Decided decide_interlocks(Tools &tools, const std::vector<MachineSeen> &machines);
Decided decide_isolators(Tools &tools, const std::vector<MachineSeen> &machines);
Decided decide_coil_volts(Tools &tools);
Decided decide_earthed_side(const Context &context);
/// What one contact of a hand device is fed from.
struct ContactFed {
    std::uint32_t device, terminal;
    std::set<std::string> from; ///< isolators and sources; empty: nothing feeds it
};
constexpr Order order_of_boxes{2, none, 0};
/// @param stops  gets those of stop devices with several contacts, unless null
Decided decide_one_origin(Tools &tools, std::vector<ContactFed> *stops = nullptr);
/// The note on a hand device whose contacts are fed from these, if it takes one.
std::optional<Finding> note_of_several_feeds(const std::string &name, const std::set<std::set<std::string>> &feeds);
/// contact-race and chatter of armatures that act on no machine.
Decided decide_other_races(Tools &tools, const std::vector<MachineSeen> &machines);

/// Does the run of a fact's acts in the whole circuit end as the search of a part found?
/// @param failing  set to the state that does, for rules that look at one
bool confirmed(const Fact &fact, const std::string &rule, const MachineSeen &machine, WitnessRun &witness,
               const WitnessRun::Result &end, const State **failing);

/// Of the states that the acts of what fails may lead to: none of them, some or all show it.
enum class Shown { in_none, in_some, in_all };
Shown shown(const Fact &fact, const std::string &rule, const MachineSeen &machine, WitnessRun &witness);

/// Does the run show a race, or chatter, as it was found? `dwells`: of a change-over contact.
inline bool shows(const WitnessRun::Result &end, std::string_view rule, bool dwells) {
    return rule == "chatter" ? end.chatter : dwells ? end.dwelling : end.race;
}

} // namespace stopspan

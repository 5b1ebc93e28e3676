#pragma once

#include "base/renumbering.hpp"
#include "checks/context.hpp"
#include "checks/stop_rows.hpp"

namespace stopspan {

/// All that is connected to a machine and can act on it, part by part in an order of its own. Where two machines have
/// the same words they are wired alike: the k-th net, contact or variable of one is to it what the k-th of the other is
/// to that. Nets on which more hangs than this (poles that all share) are told by themselves: they are the same for
/// both.
class MachineSurroundings {
public:
    /// @param makes  per device: the same number for the same kind and parameters
    MachineSurroundings(const Context &context, const MachineSeen &machine, const std::vector<std::uint32_t> &makes);
    /// With a fault of a contactor, a hand device or of nets that touch. In whichever order contacts stand in a row,
    /// they open it: between the nets at the fault the order is not told, and of all only variables are numbered.
    MachineSurroundings(const Context &context, const MachineSeen &machine, const std::vector<std::uint32_t> &makes,
                        const StopRows &rows, const Fault &fault);

    const std::vector<std::uint64_t> &words() const { return words_; }
    std::vector<std::uint64_t> take_words() { return std::move(words_); }

    /// Nets, variables, contacts and loads of the whole circuit, in order.
    const std::vector<std::uint32_t> &nets() const { return nets_; }
    const std::vector<std::uint32_t> &variables() const { return variables_; }
    const std::vector<std::uint32_t> &switches() const { return switches_; }
    const std::vector<std::uint32_t> &impedances() const { return impedances_; }
    /// Which of them it is, or none.
    std::uint32_t number_of_net(std::uint32_t net) const { return net_number_[net]; }
    std::uint32_t number_of_variable(std::uint32_t variable) const { return variable_number_[variable]; }

private:
    std::vector<std::uint64_t> words_;
    std::vector<std::uint32_t> nets_, variables_, switches_, impedances_;
    Renumbering net_number_, variable_number_;
};

/// Per device the same number for the same kind and parameters, whatever it is called and to whichever machine it
/// belongs.
std::vector<std::uint32_t> makes_of(const Circuit &circuit);

/// Which machines are wired alike.
class AlikeMachines {
public:
    AlikeMachines(const Context &context, const std::vector<MachineSeen> &machines);

    /// The first machine like it; itself where there is none before.
    std::uint32_t first(std::uint32_t machine) const { return first_[machine]; }
    /// Another machine is like it.
    bool has_like(std::uint32_t machine) const { return has_like_[first_[machine]]; }
    /// Null where it was not looked at: nothing is known to be like it.
    const MachineSurroundings *around(std::uint32_t machine) const {
        return machine < around_.size() ? &around_[machine] : nullptr;
    }

private:
    std::vector<std::uint32_t> first_;
    std::vector<std::uint8_t> has_like_; ///< of those that are first
    std::vector<MachineSurroundings> around_;
};

} // namespace stopspan

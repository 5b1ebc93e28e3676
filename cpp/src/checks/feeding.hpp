#pragma once

#include "checks/context.hpp"

#include <optional>

namespace stopspan {

/// The ways that feed a machine, see gather_feeding(), and what has contacts there.
struct Feeding {
    Feeding(const Context &context, const MachineSeen &machine);
    std::vector<std::uint32_t> nets, switches, variables; ///< sorted
};

/// Opening this isolator cannot stop the machine while all its supplies are healthy: none of its contacts is in a way
/// that feeds it, and none of its loads is fed through another load. True is a proof, false means nothing.
bool runs_without(const Context &context, Structure &structure, const MachineSeen &machine, const Feeding &ways,
                  std::uint32_t isolator);

/// What can act on a machine or load on any way about, through other machines too. Looked for when first asked.
class FarReach {
public:
    /// @param seeds    of a machine; or the two nets of a load, and no machine
    FarReach(const Context &context, Structure &structure, const Seeds &seeds, const MachineSeen *machine = nullptr)
        : context_(context), structure_(structure), seeds_(seeds), machine_(machine) {}

    /// Every net about has its source's full volts or none while all supplies are healthy: no load stands between two
    /// of them or ahead of them. True is a proof, false means nothing.
    bool fed_by_contacts_only();
    /// Nothing, however far about, lets this act on it, nor does it take volts from what feeds it. True is a proof.
    bool untouched_by(std::uint32_t variable);

private:
    void look();

    const Context &context_;
    Structure &structure_;
    const Seeds &seeds_;
    const MachineSeen *machine_;
    std::optional<Reach> reach_;
    bool contacts_only_ = false;
};

} // namespace stopspan

#pragma once

#include "stopspan/check.hpp"
#include "stopspan/compare.hpp"

#include <memory>

namespace stopspan {

/// A circuit with its verdict, kept up to date as the circuit is changed: what happens if this wire is moved? After
/// every change the verdict is that of check() of the circuit as it is then. What the change cannot influence is not
/// decided again.
///
/// A moved wire, another value of a part or a new contact asks again only the machines and loads of the group of
/// devices it stands in: what hangs together up to the nets of sources that nothing else feeds. Everything is decided
/// again
/// - by other changes;
/// - with waivers, and with `repairs` once something fails or may fail, or where faults are asked about;
/// - with fault exclusions where faults are asked about, and where what is tried of the faults of a machine, or of
/// pairs
///   on a floating source that nothing feeds, hangs on how much there is to try;
/// - in small circuits, where the group is half of the circuit or more, where a supply that is fed shares a net with
///   another source or with earth, and where contacts could short a source.
/// What circuit() and verdict() refer to stays as it is until the next change. A copy is independent; a plan among the
/// options outlives both.
class StandingCheck {
public:
    /// Checks the circuit once. @throws Error as check()
    explicit StandingCheck(Circuit circuit, CheckOptions options = {});
    ~StandingCheck();
    StandingCheck(const StandingCheck &);
    StandingCheck &operator=(const StandingCheck &);
    StandingCheck(StandingCheck &&) noexcept;
    StandingCheck &operator=(StandingCheck &&) noexcept;

    const Circuit &circuit() const;
    const Verdict &verdict() const;

    /// The changes of Circuit. Each returns what it changed, as compare() of the verdicts before and after.
    /// @throws Error as Circuit and check() do, and what `progress` throws; circuit and verdict are then unchanged
    Comparison add(std::string_view designation, DeviceKind kind, std::span<const Connection> connections,
                   const Parameters &parameters = {});
    Comparison connect(std::string_view designation, std::string_view terminal, std::string_view net);
    Comparison set_parameter(std::string_view designation, std::string_view parameter, Parameter value);
    Comparison remove(std::string_view designation);

    /// Machines and loads that the last change, or the first check, decided.
    std::size_t decided() const;

private:
    class Implementation;
    std::unique_ptr<Implementation> self_;
};

} // namespace stopspan

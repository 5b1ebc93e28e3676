#pragma once

#include "circuit/compiled.hpp"
#include "circuit/lookup.hpp"

#include <map>
#include <set>
#include <vector>

namespace stopspan::ratings {

/// The circuit with every cable taken as a plain wire, so that ways can be followed through it.
Circuit without_lengths(const Circuit &circuit);

/// A contact, fuse or core that carries the current of a motor.
struct Element {
    std::uint32_t contact; ///< index into Compiled::switches
    /// Its current over the motor's rated current: 1, or 1/sqrt3 behind the split of the phases of a motor of six
    /// leads, or 1/3 in its star point.
    double share = 1;
    bool star_point = false;         ///< joins winding ends and no line
    bool slow = false, fast = false; ///< of two speeds: carries the current of this one
};

/// How a motor is wired to its sources.
struct MotorPath {
    std::uint32_t motor; ///< index into Compiled::motors
    std::vector<Element> elements;
    std::vector<std::uint32_t> sources; ///< indices into Compiled::sources
    std::set<std::uint32_t> poles;      ///< nets of source poles it is joined to
    bool starts_in_star = false;        ///< six leads, with a contactor for the star point
    std::set<std::uint32_t> reversing;  ///< devices: contactors that feed the same terminal from different lines
};

/// Contacts on the ways from some nets to source poles, each step to a net that is no further from one.
class Ways {
public:
    explicit Ways(const Compiled &circuit, const Lookup &lookup);
    /// Indices into Compiled::switches, sorted; `poles` gets the pole nets that were met.
    std::set<std::uint32_t> from(const std::vector<std::uint32_t> &nets,
                                 std::set<std::uint32_t> *poles = nullptr) const;
    /// Contacts between a net and the nearest source pole; none if no way leads to one.
    std::uint32_t steps(std::uint32_t net) const { return steps_[net]; }

private:
    const Compiled &circuit_;
    const Lookup &lookup_;
    std::vector<std::uint32_t> steps_; ///< per net
};

/// For every motor the contacts on its ways to a source: from its terminals each step leads to a net that is no further
/// from a source pole, by contacts passed. That keeps out other machines on the same rails, and ways through two
/// contactors of a reversing starter; a detour longer than the usual way is not seen.
/// @param circuit  of without_lengths()
std::vector<MotorPath> motor_paths(const Compiled &circuit, const Lookup &lookup);

/// A motor behind a device.
struct Behind {
    std::uint32_t path;  ///< index into the list of paths
    double share = 0;    ///< largest of the device's contacts
    std::uint32_t poles; ///< contacts of the device that its current passes
    bool star_point = false, slow = false, fast = false;
};
/// Per device of the circuit: the motors whose current it carries.
std::map<std::uint32_t, std::vector<Behind>> motors_behind(const Compiled &circuit,
                                                           const std::vector<MotorPath> &paths);

} // namespace stopspan::ratings

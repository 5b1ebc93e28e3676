#pragma once

#include "sheets/current_paths.hpp"

#include <map>
#include <string>

namespace stopspan {

/// Which machine a part serves: an index of machines(), or one of these.
inline constexpr int nobody = -1, several = -2;
/// Owner of what serves both.
int merged(int a, int b);

/// Power parts of a circuit, told apart from control parts, and whose they are.
class PowerOwners {
public:
    PowerOwners(std::span<const Part> parts, const Circuit &circuit, const NetFacts &facts);

    const std::vector<std::string> &machines() const { return machines_; }
    /// Index of a machine, or nobody.
    int machine(std::string_view name) const;
    bool power(std::size_t part) const { return power_[part]; }
    int owner(std::size_t part) const { return owner_[part]; }
    /// Parts on a net.
    const std::vector<std::size_t> &at(NetId net) const { return at_[net.value]; }

    /// A supply stands with the power circuit of the one machine that uses it, and so does what leads to it alone.
    /// @param users  owner of each control part
    void claim_supplies(const std::vector<int> &users);

private:
    bool on_rails(const Part &part) const;
    bool carries_motor(const Part &part) const;
    void find_power();
    void find_power_chains();
    void measure_feeding();
    void claim_upstream(std::size_t motor);
    void claim_downstream();
    template <class Visit>
    void neighbours(NetId net, Visit &&visit) const;

    std::span<const Part> parts_;
    const Circuit &circuit_;
    const NetFacts &facts_;
    std::vector<std::string> machines_;
    std::map<std::string, int, std::less<>> machine_index_;
    std::vector<int> owner_;
    std::vector<bool> power_;
    std::vector<std::vector<std::size_t>> at_;
    std::vector<int> steps_; ///< by net: power parts between it and a source; -1: none leads there
};

} // namespace stopspan

#pragma once

#include "stopspan/description.hpp"
#include "stopspan/verdict.hpp"

#include <map>
#include <string>
#include <vector>

namespace stopspan {

/// Which machines each stop device cuts: as found, or as asked when nothing was checked. Stop devices with the same
/// reach share a letter: on a plan a stop cuts the machines that bear its letter.
class PlanReach {
public:
    struct Machine {
        std::string name;
        std::string remark; ///< " (maybe)"; empty: it is cut
    };
    PlanReach(const Description &description, const Verdict &verdict);

    bool as_found() const { return as_found_; }
    const std::vector<Machine> &of(std::string_view stop) const;
    /// "A"; empty of one that cuts nothing for certain.
    std::string letter(std::string_view stop) const;
    /// "A C" of what is cut by the stops of these letters.
    std::string letters(std::string_view machine) const;

private:
    bool as_found_;
    std::map<std::string, std::vector<Machine>, std::less<>> reach_;
    std::map<std::string, std::string, std::less<>> letter_, letters_;
};

} // namespace stopspan

#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace stopspan {

enum class Status { fails, maybe, undecided, waived, note };
enum class Asked { cut, keep, free };
enum class Found { cuts, spares, maybe };
/// What a stop function must outlive (ISO 13849-1): nothing, any one fault, or faults that add up unnoticed. The later
/// asks for more, so the stricter of two is the greater.
enum class Target { no_fault, single_fault, accumulated_faults };
std::string_view to_text(Status status);
std::string_view to_text(Asked asked);
std::string_view to_text(Found found);
std::string_view to_text(Target target);
/// @throws Error (bad_value), each of these
Status status(std::string_view text);
Asked asked_cell(std::string_view text);
Found found_cell(std::string_view text);
Target fault_target(std::string_view text);

/// One wish: what a stop device must do to a machine or load.
struct AskedCell {
    std::string stop;
    std::string machine;
    Asked asked = Asked::cut;
    Target target = Target::no_fault; ///< of a cell to be cut
    friend bool operator==(const AskedCell &, const AskedCell &) = default;
};

/// Somebody's word that a finding is accepted as it is. It waives what fails or may fail with this rule and these
/// subjects, no more and no fewer of them, and only while its sentence says what was accepted, where that is given.
struct Waiver {
    std::string rule;
    std::vector<std::string> subjects; ///< in any order
    std::string reason;
    std::string name; ///< of the person
    std::string date; ///< "2026-11-26"
    /// The finding's sentence or a part of it, as "jam ES1"; empty: whatever it says.
    std::string says{};
    friend bool operator==(const Waiver &, const Waiver &) = default;
};
/// @throws Error: unknown_name (rule); missing_value (subjects, reason, name, date); bad_value (text that is not one
///         line, what is no date, a subject twice)
void check_waiver(const Waiver &waiver);

/// How a claim breaks: acts that lead there from cold, one by one, and the path that holds the coil, net by net.
struct Witness {
    std::vector<std::string> acts; ///< replay vocabulary: "tap S1"
    std::vector<std::string> path; ///< "L1 -F2- a -K1:13-14- e"
    std::string ends_in;           ///< the failing state: "M1 runs"
};

/// Something that does not hold, or a note. What holds is in the matrix and the counts.
struct Finding {
    std::string rule; ///< "stop-cuts"
    Status status = Status::fails;
    std::vector<std::string> subjects; ///< designations, machines, nets
    std::string text{};                ///< one plain sentence
    Witness witness{};
    std::string repair{}; ///< the smallest known one, applied and checked again; empty when none is known
    std::string source{}; ///< standard and clause, or "common practice"; of the rule set that a check goes by
    /// Of a waived finding: who accepted it, and what it is otherwise.
    std::optional<Waiver> waiver{};
    Status otherwise = Status::fails;
};

/// What was asked of a stop and a machine (or load), and what the wiring does.
struct MatrixCell {
    std::string stop;
    std::string machine;
    Asked asked = Asked::free;
    Found found = Found::spares;
    /// Per run mode of the machine: "forward", "star" ... Empty: it has but "run", of which `found` tells all.
    std::map<std::string, Found> modes;
};

/// The way on the plan from a machine or an exit to the nearest stop that cuts.
struct Walk {
    std::string start;   ///< machine, or exit
    std::string area;    ///< of the exit; empty: from a machine
    std::string machine; ///< which the stop cuts; from an exit: of all in its area the one with the longest way
    std::string stop;
    double distance_m = 0;
};

/// The rule set a check went by.
struct RulesUsed {
    /// A number in a rule, and what the set has for it.
    struct Limit {
        std::string name;
        double value, of_set;
        std::string source;
    };
    std::string id, country, edition, source;
    std::vector<Limit> limits;
};

/// Findings, matrix, counts of one check.
struct Verdict {
    std::vector<Finding> findings;
    /// Every stop x machine while that is at most 100,000 cells, else those asked or not spared.
    std::vector<MatrixCell> matrix;
    /// rule -> "holds" | "fails" | "maybe" | "undecided" | "waived" | "note" -> number
    std::map<std::string, std::map<std::string, std::size_t>> counts;
    std::vector<Walk> walks; ///< machines in order, then exits; only where a way leads to a stop
    std::vector<std::string> not_checked;
    RulesUsed rules;
    /// No finding is fails, maybe or undecided.
    bool ok() const;
};

} // namespace stopspan

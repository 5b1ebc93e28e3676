#include "checks/waivers.hpp"

#include "base/words.hpp"
#include "checks/count_again.hpp"

#include <algorithm>

namespace stopspan {
namespace {

std::vector<std::string> sorted(std::vector<std::string> subjects) {
    std::sort(subjects.begin(), subjects.end());
    return subjects;
}

std::string why_it_covers_nothing(const std::vector<Status> &met, const std::string &says_else) {
    if (met.empty() && !says_else.empty())
        return "what was accepted is no longer what is found: \"" + says_else + "\" Look at it anew.";
    if (met.empty())
        return "no finding of this rule has just these subjects. Correct it or take it out.";
    if (std::find(met.begin(), met.end(), Status::undecided) != met.end())
        return "the finding is undecided, and what nobody knows nobody can accept. Raise the state budget, or simplify "
               "the circuit.";
    return "the finding is a note, which needs no waiver. Take it out.";
}

} // namespace

void apply_waivers(const Context &context, Verdict &verdict) {
    std::vector<Finding> stale;
    for (const Waiver &waiver : context.options.waivers) {
        if (!context.wants(waiver.rule))
            continue;
        const std::vector<std::string> subjects = sorted(waiver.subjects);
        bool covers = false;
        std::string says_else; // what a finding says that was accepted with other words
        std::vector<Status> met;
        for (Finding &finding : verdict.findings) {
            if (finding.rule != waiver.rule || finding.subjects.size() != subjects.size() ||
                sorted(finding.subjects) != subjects)
                continue;
            if (finding.text.find(waiver.says) == std::string::npos) {
                says_else = finding.text;
                continue;
            }
            covers |= finding.status == Status::waived;
            met.push_back(finding.status);
            if (finding.status != Status::fails && finding.status != Status::maybe)
                continue;
            covers = true;
            finding.otherwise = finding.status;
            finding.status = Status::waived;
            finding.waiver = waiver;
            count_again(verdict, finding.rule, to_text(finding.otherwise), to_text(Status::waived));
        }
        if (!covers)
            stale.push_back({.rule = waiver.rule,
                             .status = Status::note,
                             .subjects = waiver.subjects,
                             .text = "The waiver by " + waiver.name + " of " + waiver.date + " for " +
                                     listed_in_short(waiver.subjects) +
                                     " waives nothing: " + why_it_covers_nothing(met, says_else)});
    }
    for (Finding &finding : stale) {
        ++verdict.counts[finding.rule][std::string(to_text(Status::note))];
        verdict.findings.push_back(std::move(finding));
    }
}

} // namespace stopspan

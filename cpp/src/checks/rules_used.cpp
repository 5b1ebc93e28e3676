#include "checks/rules_used.hpp"

#include "base/number_text.hpp"

namespace stopspan {

void tell_rules(const Context &context, Verdict &verdict) {
    const RuleSet &set = context.rule_set;
    verdict.rules = {
        std::string(set.id), std::string(set.country), std::string(set.edition), std::string(set.source), {}};
    std::map<std::string_view, std::string> changed; // per rule
    for (const LimitInfo &info : limits()) {
        const double value = context.limit(info.name), of_set = set.limit(info.name);
        verdict.rules.limits.push_back({std::string(info.name), value, of_set, std::string(info.source)});
        if (value != of_set)
            changed[info.rule] += "; here with " + std::string(info.name) + " " + format_number(value) +
                                  " instead of " + format_number(of_set);
    }
    for (Finding &finding : verdict.findings) {
        finding.source = set.source_of(finding.rule);
        if (const auto found = changed.find(finding.rule); found != changed.end())
            finding.source += found->second;
    }
}

} // namespace stopspan

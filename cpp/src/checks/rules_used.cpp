#include "checks/rules_used.hpp"

#include "base/number_text.hpp"

namespace stopspan {

void tell_rules(const Context &context, Verdict &verdict) {
    const RuleSet &set = context.rule_set;
    verdict.rules = {
        std::string(set.id), std::string(set.country), std::string(set.edition), std::string(set.source), {}};
    for (const LimitInfo &info : limits())
        verdict.rules.limits.push_back(
            {std::string(info.name), context.limit(info.name), set.limit(info.name), std::string(info.source)});
    std::map<std::string, std::string, std::less<>> sources;
    for (Finding &finding : verdict.findings) {
        const auto [source, fresh] = sources.try_emplace(finding.rule);
        if (fresh)
            source->second = told_source(verdict.rules, finding.rule);
        finding.source = source->second;
    }
}

std::string told_source(const RulesUsed &used, std::string_view rule) {
    std::string source(rule_set(used.id).source_of(rule));
    for (const RulesUsed::Limit &limit : used.limits)
        if (limit.value != limit.of_set && limit_info(limit.name).rule == rule)
            source += "; here with " + limit.name + " " + format_number(limit.value) + " instead of " +
                      format_number(limit.of_set);
    return source;
}

} // namespace stopspan

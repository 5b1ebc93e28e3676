#include "checks/loose_findings.hpp"

#include <algorithm>

namespace stopspan {
namespace {

bool is_before(const LooseFindings::One &a, const LooseFindings::One &b) {
    return a.place < b.place;
}

} // namespace

LooseFindings::LooseFindings(const Shares &shares)
    : first_(shares.counts.size() + 1), of_share_(shares.of_finding.size()), gone_(shares.of_finding.size()) {
    for (const std::uint32_t share : shares.of_finding)
        ++first_[share];
    std::uint32_t end = 0;
    for (std::uint32_t &first : first_)
        first = end += first;
    for (std::size_t k = shares.of_finding.size(); k-- > 0;)
        of_share_[--first_[shares.of_finding[k]]] = static_cast<std::uint32_t>(k);
}

std::vector<Finding> LooseFindings::take(Verdict &verdict, const Shares &shares, const std::vector<Part> &parts) {
    std::vector<One> taken;
    const auto is_of = [](const Part &part, std::uint32_t share, const Shares::Place &place) {
        return part.share == share && (part.rule == none || part.rule == place.rule);
    };
    for (const Part &part : parts) {
        if (part.share + 1 >= first_.size())
            continue; // of a device that was added since
        for (std::uint32_t i = first_[part.share]; i < first_[part.share + 1]; ++i)
            if (const std::uint32_t k = of_share_[i]; gone_[k] == 0 && is_of(part, part.share, shares.places[k])) {
                gone_[k] = 1;
                taken.push_back({shares.places[k], part.share, std::move(verdict.findings[k])});
            }
    }
    const auto stay = std::stable_partition(came_.begin(), came_.end(), [&](const One &one) {
        return std::none_of(parts.begin(), parts.end(),
                            [&](const Part &part) { return is_of(part, one.share, one.place); });
    });
    std::move(stay, came_.end(), std::back_inserter(taken));
    came_.erase(stay, came_.end());
    std::stable_sort(taken.begin(), taken.end(), is_before);
    in_order_ &= taken.empty();
    std::vector<Finding> findings;
    for (One &one : taken)
        findings.push_back(std::move(one.finding));
    return findings;
}

void LooseFindings::put_in_order(Verdict &verdict, Shares &shares) {
    if (in_order_ && came_.empty())
        return;
    std::stable_sort(came_.begin(), came_.end(), is_before);
    std::vector<Finding> findings;
    std::vector<std::uint32_t> of_finding;
    std::vector<Shares::Place> places;
    findings.reserve(gone_.size() + came_.size());
    const auto add = [&](Finding &finding, std::uint32_t share, const Shares::Place &place) {
        findings.push_back(std::move(finding));
        of_finding.push_back(share);
        places.push_back(place);
    };
    auto next = came_.begin();
    for (std::size_t k = 0; k < gone_.size(); ++k) {
        if (gone_[k] != 0)
            continue;
        for (; next != came_.end() && next->place <= shares.places[k]; ++next)
            add(next->finding, next->share, next->place);
        add(verdict.findings[k], shares.of_finding[k], shares.places[k]);
    }
    for (; next != came_.end(); ++next)
        add(next->finding, next->share, next->place);
    verdict.findings = std::move(findings);
    shares.of_finding = std::move(of_finding);
    shares.places = std::move(places);
    *this = LooseFindings(shares);
}

} // namespace stopspan

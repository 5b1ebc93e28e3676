#include "stopspan/arrangements.hpp"

#include "stopspan/error.hpp"
#include "stopspan/wiring.hpp"

#include <algorithm>
#include <set>

namespace stopspan {
namespace {

struct Way {
    ZoneLink link;
    std::optional<int> channels{};
};

// In the order of what they cost.
std::vector<Way> ways() {
    return {{ZoneLink::series_chain},   {ZoneLink::contact_blocks}, {ZoneLink::zone_relay},
            {ZoneLink::zone_contactor}, {ZoneLink::stop_relay, 1},  {ZoneLink::stop_relay, 2}};
}

bool is_linked(const Zone &zone, const Way &way) {
    return zone.link == way.link && (!way.channels || zone.channels.value_or(2) == *way.channels);
}

bool is_fault_rule(std::string_view rule) {
    return rule == "single-fault" || rule == "hidden-fault";
}

void count_parts(Arrangement &row, const Description &description, const Wired &wired) {
    std::set<std::string_view> described;
    for (const StopDevice &stop : description.stops())
        described.insert(stop.name);
    for (const Device &device : wired.circuit.devices()) {
        ++row.parts[std::string(to_text(device.kind))];
        if (!described.contains(device.designation) && (!is_actuator(device.kind) || role_of(device) != Role::reset))
            continue;
        const std::size_t blocks = contacts_of(device).size();
        row.contact_blocks += blocks;
        row.blocks_on_one = std::max(row.blocks_on_one, blocks);
    }
}

void count_cores(Arrangement &row, const Wired &wired) {
    std::vector<std::set<std::string_view>> places(wired.circuit.nets().size());
    for (std::size_t d = 0; d < wired.places.size(); ++d)
        for (const Device::Terminal &terminal : wired.circuit.devices()[d].terminals)
            places[terminal.net.value].insert(wired.places[d]);
    for (const auto &at : places)
        row.cores += at.empty() ? 0 : at.size() - 1;
}

void count_verdict(Arrangement &row, const Description &description, const Verdict &verdict, bool faults) {
    std::map<std::string_view, std::size_t> cut;
    for (const StopDevice &stop : description.stops())
        cut.emplace(stop.name, 0);
    for (const MatrixCell &cell : verdict.matrix)
        if (const auto found = cut.find(cell.stop);
            found != cut.end() && cell.found == Found::cuts && !description.is_load(cell.machine))
            ++found->second;
    for (const StopDevice &stop : description.stops())
        row.machines_stopped.emplace_back(stop.name, cut.at(stop.name));
    for (const auto &[rule, counts] : verdict.counts) {
        if (is_fault_rule(rule))
            continue;
        for (const auto &[status, count] : counts)
            if (status == "holds")
                row.holds += count;
            else if (status != "note")
                row.does_not_hold += count;
    }
    if (!faults)
        return;
    row.single_faults = row.hidden_faults = row.undecided_faults = 0;
    for (const Finding &finding : verdict.findings) {
        if (!is_fault_rule(finding.rule))
            continue;
        const Status status = finding.status == Status::waived ? finding.otherwise : finding.status;
        if (status == Status::undecided)
            ++*row.undecided_faults;
        else if ((status == Status::fails || status == Status::maybe) &&
                 std::ranges::any_of(finding.subjects,
                                     [&](const std::string &subject) { return cut.contains(subject); }))
            ++*(finding.rule == "single-fault" ? row.single_faults : row.hidden_faults);
    }
}

void fill(Arrangement &row, const Installation &installation, const CheckOptions &options, bool faults) {
    try {
        const Wired wired = wire_in_places(installation.description, installation.recorded);
        count_parts(row, installation.description, wired);
        count_cores(row, wired);
    } catch (const Error &error) {
        row.refused = error.what();
        return;
    }
    count_verdict(row, installation.description, installation.check(options), faults);
}

} // namespace

std::vector<Arrangement> compare_arrangements(const Installation &installation, std::optional<ZoneId> zone,
                                              const CheckOptions &given, bool faults) {
    const std::span<const Zone> zones = installation.description.zones();
    if (zones.empty())
        throw Error(ErrorCode::contradiction, installation.description.name +
                                                  ": it has no zone, so there is nothing to link one way or another; "
                                                  "add a zone");
    std::vector<ZoneId> changing;
    for (std::uint32_t i = 0; i < zones.size(); ++i)
        if (!zone || zone->value == i)
            changing.push_back({i});
    CheckOptions options = given;
    options.repairs = false;
    options.target =
        Target::accumulated_faults; // so that what a fault takes away is told apart from what is not decided
    options.rules.clear();
    for (const RuleInfo &rule : rules())
        if (faults || !is_fault_rule(rule.id))
            options.rules.emplace_back(rule.id);
    std::vector<Arrangement> rows;
    for (const Way &way : ways()) {
        Arrangement &row = rows.emplace_back(Arrangement{.link = way.link, .channels = way.channels});
        row.as_described =
            std::ranges::all_of(changing, [&](ZoneId id) { return is_linked(installation.description[id], way); });
        Installation changed = installation;
        for (const ZoneId id : changing)
            if (!is_linked(installation.description[id], way))
                changed.description.arrange(id, way.link, way.channels);
        fill(row, changed, options, faults);
    }
    if (std::ranges::none_of(rows, &Arrangement::as_described)) {
        rows.insert(rows.begin(), Arrangement{.as_described = true});
        fill(rows.front(), installation, options, faults);
    }
    return rows;
}

} // namespace stopspan

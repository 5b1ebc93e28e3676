#include "switching/structure.hpp"

#include <algorithm>

namespace stopspan {

bool Structure::has_fault(std::uint32_t net) const {
    return std::any_of(joined_.begin(), joined_.end(),
                       [&](const auto &pair) { return pair.first == net || pair.second == net; });
}

bool Structure::surely_closed(std::uint32_t net, const Edge &edge) const {
    return edge.conductor && (edge.variable == none || (positions_[edge.variable] & ~edge.closed_at) == 0) &&
           std::none_of(loose_.begin(), loose_.end(), [&](const Switch &one) {
               return one.variable == edge.variable && std::minmax(one.a, one.b) == std::minmax(net, edge.to);
           });
}

template <class Enough>
void Structure::for_joined(std::uint32_t net, Enough &&enough) {
    std::vector<std::uint32_t> joined{net};
    for (std::size_t k = 0; k < joined.size(); ++k) {
        if (enough(joined[k]))
            return;
        for (std::uint32_t e = graph_->first[joined[k]]; e < graph_->first[joined[k] + 1]; ++e) {
            const Edge &edge = graph_->edges[e];
            if (surely_closed(joined[k], edge) && std::find(joined.begin(), joined.end(), edge.to) == joined.end())
                joined.push_back(edge.to);
        }
    }
}

std::uint32_t Structure::pole_of(std::uint32_t net) {
    std::uint32_t found = none;
    for_joined(net, [&](std::uint32_t each) {
        if (at_earth_[each])
            found = 0;
        else if (const auto poles = graph_->poles_at[each]; !poles.empty())
            found = *poles.begin();
        return found != none;
    });
    return found;
}

bool Structure::surely_joined(std::uint32_t a, std::uint32_t b) {
    bool met = false;
    for_joined(a, [&](std::uint32_t each) { return met = each == b; });
    return met;
}

std::optional<Structure::AllOrNothing> Structure::all_or_nothing(std::uint32_t a, std::uint32_t b) {
    AllOrNothing found{none, none, pole_of(b), 0, {}};
    if (found.back == none || !lost_.empty())
        return std::nullopt;
    ++round_;
    std::vector<std::uint32_t> &nets = found.nets;
    const auto arrive = [&](std::uint32_t net) { // false: at another pole than the first
        if (mark_[net] == round_)
            return true;
        mark_[net] = round_;
        const std::uint32_t pole = pole_of(net);
        if (pole == none)
            nets.push_back(net);
        else if (found.pole == none)
            found.pole = pole;
        return pole == none || pole == found.pole;
    };
    if (!arrive(a))
        return std::nullopt;
    for (std::size_t k = 0; k < nets.size(); ++k) {
        bool all = true;
        across_faults(nets[k], [&](std::uint32_t net) { all = all && arrive(net); });
        for (std::uint32_t e = graph_->first[nets[k]]; e < graph_->first[nets[k] + 1] && all; ++e)
            if (const Edge &edge = graph_->edges[e]; !edge.conductor)
                all = pole_of(edge.to) == found.back;
            else if (!open(edge))
                all = arrive(edge.to);
        if (!all)
            return std::nullopt;
    }
    if (found.pole == none || found.pole == found.back)
        return std::nullopt;
    const std::uint32_t pole = found.pole == 0 ? found.back : found.pole;
    found.source = graph_->source_of_pole[pole];
    const Source &source = circuit_.sources[found.source];
    const auto volts = [&](std::uint32_t number) -> std::optional<Volts> {
        if (number != 0)
            return graph_->source_of_pole[number] == found.source
                       ? std::optional(source.poles[graph_->pole_index[number]].volts)
                       : std::nullopt;
        return source.earthed == none ? std::nullopt : std::optional(source.poles[source.earthed].volts);
    };
    const auto there = volts(found.pole), back = volts(found.back);
    if (!there || !back)
        return std::nullopt;
    found.volts = (*there - *back).rms();
    return found;
}

} // namespace stopspan

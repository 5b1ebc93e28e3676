#include "sheets/net_levels.hpp"

#include <algorithm>
#include <deque>
#include <tuple>

namespace stopspan {

NetLevels::NetLevels(std::span<const std::size_t> members, std::span<const Part> parts, const NetFacts &facts) {
    for (const std::size_t member : members) {
        const Part &part = parts[member];
        const std::size_t first = local(part.pins.front().net), second = local(part.pins.back().net);
        at_[first].push_back(edges_.size());
        if (second != first)
            at_[second].push_back(edges_.size());
        edges_.push_back({member, first, second, part.role == PartRole::load});
    }
    for (std::size_t i = 0; i < nets_.size(); ++i)
        nets_[i].boundary = fed_from_elsewhere(i, facts);
    choose_return(facts);
    std::vector<std::size_t> live, back;
    for (std::size_t i = 0; i < nets_.size(); ++i)
        if (nets_[i].boundary)
            (nets_[i].pole_below ? back : live).push_back(i);
    spread(live, false, false);
    spread(back, true, false);
    spread({}, false, true);
    for (std::size_t i = 0; i < nets_.size(); ++i) // pieces fed from nowhere
        if (nets_[i].distance < 0)
            spread({i}, false, true);
    order();
    assign();
}

std::size_t NetLevels::local(NetId net) {
    const auto [entry, fresh] = index_.try_emplace(net, nets_.size());
    if (fresh) {
        nets_.push_back({.id = net});
        at_.emplace_back();
    }
    return entry->second;
}

// Rails are, unless they only lie at the end of a path, such as the input of a transformer; so is any other net that
// no contact here brings closer to its feed.
bool NetLevels::fed_from_elsewhere(std::size_t net, const NetFacts &facts) const {
    const int feed = facts.feed[nets_[net].id.value];
    if (feed < 0)
        return facts.rail[nets_[net].id.value];
    return std::none_of(at_[net].begin(), at_[net].end(), [&](std::size_t e) {
        const Edge &edge = edges_[e];
        const int other = facts.feed[nets_[edge.first == net ? edge.second : edge.first].id.value];
        return !edge.load && other >= 0 && other < feed;
    });
}

// The earthed poles; without one, the feeding net to which the second terminals of most loads lead.
void NetLevels::choose_return(const NetFacts &facts) {
    bool earthed = false;
    for (Net &net : nets_)
        if (net.boundary && facts.earthed[net.id.value])
            earthed = net.pole_below = net.on_return = true;
    if (earthed)
        return;
    int best = 0;
    std::size_t chosen = nets_.size();
    for (std::size_t i = 0; i < nets_.size(); ++i)
        if (nets_[i].boundary)
            if (const int found = balance(i); found > best) {
                best = found;
                chosen = i;
            }
    if (chosen < nets_.size())
        nets_[chosen].pole_below = nets_[chosen].on_return = true;
}

// Loads whose second terminal a net reaches through contacts, less those whose first it reaches.
int NetLevels::balance(std::size_t net) const {
    std::vector<bool> seen(nets_.size());
    std::deque<std::size_t> queue{net};
    seen[net] = true;
    int sum = 0;
    while (!queue.empty()) {
        const std::size_t here = queue.front();
        queue.pop_front();
        for (const std::size_t e : at_[here]) {
            const Edge &edge = edges_[e];
            if (edge.load) {
                sum += (edge.second == here) - (edge.first == here);
                continue;
            }
            const std::size_t next = edge.first == here ? edge.second : edge.first;
            if (!seen[next] && !nets_[next].boundary) {
                seen[next] = true;
                queue.push_back(next);
            }
        }
    }
    return sum;
}

// Breadth first from the given nets, or from all reached ones; does not enter what the other side has.
void NetLevels::spread(std::vector<std::size_t> from, bool return_side, bool through_loads) {
    for (const std::size_t i : from)
        nets_[i].distance = 0;
    if (from.empty() && through_loads)
        for (std::size_t i = 0; i < nets_.size(); ++i)
            if (nets_[i].distance >= 0 && !nets_[i].on_return)
                from.push_back(i);
    std::stable_sort(from.begin(), from.end(),
                     [&](std::size_t a, std::size_t b) { return nets_[a].distance < nets_[b].distance; });
    std::deque<std::size_t> queue(from.begin(), from.end());
    while (!queue.empty()) {
        const std::size_t here = queue.front();
        queue.pop_front();
        for (const std::size_t e : at_[here]) {
            const Edge &edge = edges_[e];
            const std::size_t next = edge.first == here ? edge.second : edge.first;
            if ((edge.load && !through_loads) || nets_[next].distance >= 0)
                continue;
            nets_[next].distance = nets_[here].distance + 1;
            nets_[next].on_return = return_side;
            queue.push_back(next);
        }
    }
}

void NetLevels::order() {
    std::vector<std::size_t> nets(nets_.size());
    for (std::size_t i = 0; i < nets.size(); ++i)
        nets[i] = i;
    std::sort(nets.begin(), nets.end(), [&](std::size_t a, std::size_t b) {
        const auto key = [&](std::size_t i) {
            const Net &net = nets_[i];
            return std::tuple(net.on_return, net.on_return ? -net.distance : net.distance, !net.boundary, i);
        };
        return key(a) < key(b);
    });
    for (std::size_t i = 0; i < nets.size(); ++i)
        nets_[nets[i]].rank = i;
}

// Longest paths in the order of ranks: down from the live poles, and up from the return pole.
void NetLevels::assign() {
    std::vector<std::size_t> by_rank(nets_.size());
    for (std::size_t i = 0; i < nets_.size(); ++i)
        by_rank[nets_[i].rank] = i;
    const auto neighbours = [&](std::size_t here, auto &&visit) {
        for (const std::size_t e : at_[here])
            visit(nets_[edges_[e].first == here ? edges_[e].second : edges_[e].first]);
    };
    for (const std::size_t i : by_rank) {
        Net &net = nets_[i];
        if (net.on_return)
            continue;
        if (!net.boundary)
            neighbours(i, [&](const Net &other) {
                if (!other.on_return && other.rank < net.rank)
                    net.level = std::max(net.level, other.level + 1);
            });
    }
    for (auto i = by_rank.rbegin(); i != by_rank.rend(); ++i) {
        Net &net = nets_[*i];
        if (net.on_return && !net.pole_below)
            neighbours(*i, [&](const Net &other) {
                if (other.on_return && other.rank > net.rank)
                    net.level = std::max(net.level, other.level + 1);
            });
    }
    for (const Edge &edge : edges_) {
        const Net &a = nets_[edge.first], &b = nets_[edge.second];
        const int between = a.on_return == b.on_return ? std::max(a.level, b.level) : a.level + b.level + 1;
        depth_ = std::max(depth_, std::max(between, std::min(a.level, b.level) + 1));
    }
}

PathStep NetLevels::step(const Edge &edge, int rows) const {
    const bool turned = nets_[edge.second].rank < nets_[edge.first].rank;
    const Net &upper = nets_[turned ? edge.second : edge.first];
    const Net &lower = nets_[turned ? edge.first : edge.second];
    PathStep step{.part = edge.part, .turned = turned, .upper = upper.id, .lower = lower.id};
    if (upper.on_return) { // both between a load and the return pole; levels count from the bottom
        const int fold = lower.level / rows;
        step.to = rows - (lower.level - fold * rows);
        step.from = std::clamp(rows - (upper.level - fold * rows), 0, step.to - 1);
    } else if (lower.on_return) {
        step.from = upper.level % rows;
        step.to = std::max(rows - lower.level, step.from + 1);
    } else if (lower.level > upper.level) {
        const int fold = (lower.level - 1) / rows;
        step.to = lower.level - fold * rows;
        step.from = std::clamp(upper.level - fold * rows, 0, step.to - 1);
    } else { // both are fed from elsewhere
        step.from = upper.level % rows;
        step.to = step.from + 1;
    }
    if (!upper.on_return)
        step.folds = upper.level / rows;
    step.row = edge.load || upper.on_return ? step.to - 1 : step.from;
    return step;
}

std::vector<PathStep> NetLevels::steps(int rows) const {
    std::vector<PathStep> all;
    for (const Edge &edge : edges_)
        all.push_back(step(edge, rows));
    return all;
}

} // namespace stopspan

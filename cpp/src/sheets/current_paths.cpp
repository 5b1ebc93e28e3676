#include "sheets/current_paths.hpp"

#include "sheets/net_levels.hpp"

#include <algorithm>
#include <limits>
#include <map>

namespace stopspan {
namespace {

class PathBuilder {
public:
    PathBuilder(std::vector<PathStep> steps, std::span<const Part> parts, const Circuit &circuit)
        : steps_(std::move(steps)), used_(steps_.size()), parts_(parts), circuit_(circuit) {
        for (std::size_t i = 0; i < steps_.size(); ++i) {
            begins_[{steps_[i].upper, steps_[i].from}].push_back(i);
            ends_[{steps_[i].lower, steps_[i].to}].push_back(i);
        }
    }

    std::vector<CurrentPath> build() {
        for (std::size_t i = 0; i < steps_.size(); ++i) // each load has its path
            if (parts_[steps_[i].part].role == PartRole::load && !used_[i])
                chain(i);
        std::vector<std::size_t> rest;
        for (std::size_t i = 0; i < steps_.size(); ++i)
            if (!used_[i])
                rest.push_back(i);
        std::stable_sort(rest.begin(), rest.end(), [&](auto a, auto b) { return steps_[a].from < steps_[b].from; });
        for (const std::size_t i : rest)
            if (!used_[i])
                chain(i);
        std::vector<int> folds(families_, std::numeric_limits<int>::max()); // a chain is read from its beginning
        for (const CurrentPath &path : paths_)
            folds[path.family] = std::min(folds[path.family], path.steps.front().folds);
        std::stable_sort(paths_.begin(), paths_.end(), [&](const CurrentPath &a, const CurrentPath &b) {
            return std::pair(folds[a.family], a.family) < std::pair(folds[b.family], b.family);
        });
        return std::move(paths_);
    }

private:
    using Place = std::pair<NetId, int>;

    // A holding contact stands beside the button it bridges, so the button is taken into the main path.
    int preference(std::size_t step) const {
        const Part &part = parts_[steps_[step].part];
        if (part.role == PartRole::load)
            return 3;
        if (part.role == PartRole::series)
            return 1;
        return has_coil(circuit_.device(part.device).kind) ? 2 : 0;
    }

    std::optional<std::size_t> best_of(const std::map<Place, std::vector<std::size_t>> &index, Place place) const {
        const auto found = index.find(place);
        if (found == index.end())
            return std::nullopt;
        std::optional<std::size_t> best;
        for (const std::size_t i : found->second)
            if (!used_[i] && (!best || preference(i) < preference(*best)))
                best = i;
        return best;
    }

    void chain(std::size_t start) {
        std::vector<std::size_t> chain{start};
        used_[start] = true;
        while (const auto above = best_of(ends_, {steps_[chain.front()].upper, steps_[chain.front()].from})) {
            used_[*above] = true;
            chain.insert(chain.begin(), *above);
        }
        while (const auto below = best_of(begins_, {steps_[chain.back()].lower, steps_[chain.back()].to})) {
            used_[*below] = true;
            chain.push_back(*below);
        }
        CurrentPath path;
        for (const std::size_t i : chain)
            path.steps.push_back(steps_[i]);
        path.family = family_of(path);
        for (const PathStep &step : path.steps)
            home_.try_emplace({step.lower, step.to}, path.family);
        paths_.push_back(std::move(path));
    }

    // Beside the path that has the net where this one ends, else the one where it begins, else a new one.
    std::size_t family_of(const CurrentPath &path) {
        const PathStep &last = path.steps.back(), &first = path.steps.front();
        if (parts_[last.part].role != PartRole::load)
            if (const auto found = home_.find({last.lower, last.to}); found != home_.end() && !is_common(last))
                return found->second;
        if (first.from > 0)
            if (const auto found = home_.find({first.upper, first.from}); found != home_.end())
                return found->second;
        return families_++;
    }

    // The pole at the bottom belongs to all paths.
    bool is_common(const PathStep &step) const {
        const auto found = ends_.find({step.lower, step.to});
        return found != ends_.end() && !begins_.contains({step.lower, step.to});
    }

    std::vector<PathStep> steps_;
    std::vector<bool> used_;
    std::span<const Part> parts_;
    const Circuit &circuit_;
    std::map<Place, std::vector<std::size_t>> begins_, ends_;
    std::map<Place, std::size_t> home_;
    std::size_t families_ = 0;
    std::vector<CurrentPath> paths_;
};

// Parts joined by nets that are no rails.
std::vector<std::vector<std::size_t>> connected(std::span<const std::size_t> members, std::span<const Part> parts,
                                                const NetFacts &facts) {
    std::vector<std::size_t> group(members.size());
    for (std::size_t i = 0; i < group.size(); ++i)
        group[i] = i;
    const auto root = [&](std::size_t i) {
        while (group[i] != i)
            i = group[i] = group[group[i]];
        return i;
    };
    std::map<NetId, std::size_t> owner;
    for (std::size_t i = 0; i < members.size(); ++i)
        for (const Pin &pin : parts[members[i]].pins) {
            if (facts.rail[pin.net.value])
                continue;
            const auto [entry, fresh] = owner.try_emplace(pin.net, i);
            if (!fresh) {
                const std::size_t a = root(entry->second), b = root(i);
                group[std::max(a, b)] = std::min(a, b);
            }
        }
    std::map<std::size_t, std::vector<std::size_t>> by_root;
    for (std::size_t i = 0; i < members.size(); ++i)
        by_root[root(i)].push_back(members[i]);
    std::vector<std::vector<std::size_t>> components;
    for (auto &[first, component] : by_root)
        components.push_back(std::move(component));
    return components;
}

} // namespace

std::vector<CurrentPath> current_paths(std::span<const std::size_t> members, std::span<const Part> parts,
                                       const Circuit &circuit, const NetFacts &facts, int most_rows) {
    std::vector<NetLevels> levels;
    int rows = 1;
    for (const auto &component : connected(members, parts, facts)) {
        levels.emplace_back(component, parts, facts);
        rows = std::max(rows, std::min(most_rows, levels.back().depth()));
    }
    std::vector<CurrentPath> paths;
    std::size_t base = 0;
    for (const NetLevels &component : levels) {
        std::vector<CurrentPath> more = PathBuilder(component.steps(rows), parts, circuit).build();
        std::size_t next = 0;
        for (CurrentPath &path : more) {
            path.family += base;
            next = std::max(next, path.family + 1);
            paths.push_back(std::move(path));
        }
        base = next;
    }
    return paths;
}

} // namespace stopspan

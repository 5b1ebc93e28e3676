#include "drawing_checks.hpp"

#include <cmath>
#include <map>
#include <numeric>
#include <set>
#include <tuple>

namespace stopspan::test {
namespace {

// Joins places on sheets, and names.
class Joined {
public:
    using Place = std::tuple<std::size_t, long, long>;
    std::size_t at(std::size_t sheet, Point p) {
        return node({sheet, std::lround(p.x_mm * 1000), std::lround(p.y_mm * 1000)});
    }
    std::size_t named(const std::string &net) {
        const auto [entry, fresh] = names_.try_emplace(net, parent_.size());
        if (fresh)
            parent_.push_back(parent_.size());
        return entry->second;
    }
    void join(std::size_t a, std::size_t b) { parent_[root(a)] = root(b); }
    std::size_t root(std::size_t i) {
        while (parent_[i] != i)
            i = parent_[i] = parent_[parent_[i]];
        return i;
    }
    std::map<std::size_t, std::set<std::string>> names() {
        std::map<std::size_t, std::set<std::string>> all;
        for (const auto &[name, i] : names_)
            all[root(i)].insert(name);
        return all;
    }

private:
    std::size_t node(const Place &place) {
        const auto [entry, fresh] = places_.try_emplace(place, parent_.size());
        if (fresh)
            parent_.push_back(parent_.size());
        return entry->second;
    }
    std::vector<std::size_t> parent_;
    std::map<Place, std::size_t> places_;
    std::map<std::string, std::size_t> names_;
};

} // namespace

std::vector<std::string> netlist_faults(const Drawing &drawing, const Circuit &circuit) {
    std::vector<std::string> faults;
    std::map<std::string, const Symbol *> symbols;
    for (const Symbol &symbol : drawing.symbols)
        symbols.emplace(symbol.name, &symbol);
    Joined joined;
    std::map<std::string, std::size_t> terminals; // "K1:13" -> place
    for (std::size_t s = 0; s < drawing.sheets.size(); ++s) {
        for (const Primitive &primitive : drawing.sheets[s].primitives)
            if (const auto *line = std::get_if<Line>(&primitive); line && line->layer == Layer::wires)
                joined.join(joined.at(s, line->a), joined.at(s, line->b));
        for (const Insert &insert : drawing.sheets[s].inserts)
            for (const auto &[name, point] : symbols.at(insert.symbol)->connection_points) {
                const std::size_t place = joined.at(s, {insert.at.x_mm + point.x_mm, insert.at.y_mm + point.y_mm});
                const auto value = insert.attributes.find(name);
                if (value == insert.attributes.end())
                    continue;
                if (name == "NET")
                    joined.join(place, joined.named(value->second));
                else if (!terminals.emplace(insert.attributes.at("DESIGNATION") + ":" + value->second, place).second)
                    faults.push_back(insert.attributes.at("DESIGNATION") + ":" + value->second + " is drawn twice");
            }
    }
    const auto names = joined.names();
    for (const Device &device : circuit.devices())
        for (const Device::Terminal &terminal : device.terminals) {
            const std::string full = device.designation + ":" + terminal.name;
            const auto found = terminals.find(full);
            if (found == terminals.end()) {
                faults.push_back(full + " is not drawn");
                continue;
            }
            const auto drawn = names.find(joined.root(found->second));
            if (drawn == names.end() || drawn->second != std::set{circuit.net_name(terminal.net)})
                faults.push_back(full + " is not on net " + circuit.net_name(terminal.net) + " alone");
            terminals.erase(found);
        }
    for (const auto &[full, place] : terminals)
        faults.push_back(full + " is drawn but not in the circuit");
    return faults;
}

} // namespace stopspan::test

#include "sheets/net_pieces.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace stopspan {
namespace {

class Islands {
public:
    explicit Islands(const Sheet &sheet) {
        for (const Primitive &primitive : sheet.primitives)
            if (const auto *line = std::get_if<Line>(&primitive); line && line->layer == Layer::wires) {
                const std::size_t a = root(line->a), b = root(line->b);
                parent_[a] = b;
            }
    }

    std::size_t root(Point p) {
        const std::pair key(std::lround(p.x_mm * 1000), std::lround(p.y_mm * 1000));
        std::size_t i = index_.try_emplace(key, parent_.size()).first->second;
        if (i == parent_.size())
            parent_.push_back(i);
        while (parent_[i] != i)
            i = parent_[i] = parent_[parent_[i]];
        return i;
    }

private:
    std::map<std::pair<long, long>, std::size_t> index_;
    std::vector<std::size_t> parent_;
};

} // namespace

int feeding(const Part &part, bool upper) {
    if (upper)
        return 0;
    switch (part.role) {
    case PartRole::source:
    case PartRole::supply:
        return 3;
    case PartRole::poles:
        return 2;
    case PartRole::contact:
    case PartRole::series:
        return 1;
    case PartRole::motor:
    case PartRole::load:
        break;
    }
    return 0;
}

std::vector<NetPiece> net_pieces(const Sheet &sheet, std::span<const PlacedEnd> ends, std::span<const PlacedMark> marks,
                                 std::vector<std::size_t> &chosen) {
    Islands islands(sheet);
    std::map<std::size_t, std::size_t> mark_of; // root -> mark
    std::vector<std::size_t> order;             // roots, as their marks come
    for (std::size_t i = 0; i < marks.size(); ++i) {
        const auto [entry, fresh] = mark_of.try_emplace(islands.root(marks[i].at), i);
        if (fresh)
            order.push_back(entry->first);
        else if (marks[entry->second].kind == NetMark::Kind::on_wire && marks[i].kind != NetMark::Kind::on_wire)
            entry->second = i;
    }
    std::map<std::size_t, int> feeds;
    for (const PlacedEnd &end : ends) {
        int &most = feeds[islands.root(end.at)];
        most = std::max(most, end.feeds);
    }
    std::vector<NetPiece> pieces;
    chosen.clear();
    for (const std::size_t root : order) {
        const PlacedMark &mark = marks[mark_of.at(root)];
        pieces.push_back({mark.net, feeds[root], mark.place, mark.insert});
        chosen.push_back(mark_of.at(root));
    }
    return pieces;
}

} // namespace stopspan

#include "base/words.hpp"
#include "stopspan/description.hpp"

namespace stopspan {
namespace {

std::string index_key(char kind, std::string_view name) {
    return std::string(1, kind) + std::string(name);
}

template <class Things>
std::string known_names(const Things &things) {
    return stopspan::known_names(
        things.size(), [&](std::size_t i) { return std::string_view(things[i].name); }, "none is added yet");
}

} // namespace

template <class Handle>
Handle Description::find(Kind kind, std::string_view what, std::string_view name_asked) const {
    const auto found = index_.find(index_key(static_cast<char>(kind), name_asked));
    if (found != index_.end())
        return Handle{found->second};
    std::string known;
    switch (kind) {
    case Kind::supply:
        known = known_names(supplies_);
        break;
    case Kind::board:
        known = known_names(boards_);
        break;
    case Kind::area:
        known = known_names(areas_);
        break;
    case Kind::machine:
        known = known_names(machines_);
        break;
    case Kind::load:
        known = known_names(loads_);
        break;
    case Kind::stop:
        known = known_names(stops_);
        break;
    case Kind::zone:
        known = known_names(zones_);
        break;
    }
    throw Error(ErrorCode::unknown_name, "no " + std::string(what) + " '" + std::string(name_asked) + "'; " + known);
}

SupplyId Description::supply(std::string_view asked) const {
    return find<SupplyId>(Kind::supply, "supply", asked);
}
BoardId Description::board(std::string_view asked) const {
    return find<BoardId>(Kind::board, "board", asked);
}
AreaId Description::area(std::string_view asked) const {
    return find<AreaId>(Kind::area, "area", asked);
}
MachineId Description::machine(std::string_view asked) const {
    return find<MachineId>(Kind::machine, "machine", asked);
}
LoadId Description::load(std::string_view asked) const {
    return find<LoadId>(Kind::load, "kept load", asked);
}
StopId Description::stop(std::string_view asked) const {
    return find<StopId>(Kind::stop, "stop device", asked);
}
ZoneId Description::zone(std::string_view asked) const {
    return find<ZoneId>(Kind::zone, "zone", asked);
}

// Names of an area, a board or a supply stand before a colon in net names ("B1:L1"), so they share one room of
// names; so do machines and kept loads, the columns of the matrix.
void Description::check_free(Kind kind, const std::string &asked) const {
    static constexpr std::array<std::pair<Kind, std::string_view>, 7> rooms{{{Kind::supply, "supply"},
                                                                             {Kind::board, "board"},
                                                                             {Kind::area, "area"},
                                                                             {Kind::machine, "machine"},
                                                                             {Kind::load, "kept load"},
                                                                             {Kind::stop, "stop device"},
                                                                             {Kind::zone, "zone"}}};
    const auto shares_names = [&](Kind other) {
        const auto one_of = [&](Kind each, auto... kinds) { return ((each == kinds) || ...); };
        if (one_of(kind, Kind::supply, Kind::board, Kind::area))
            return one_of(other, Kind::supply, Kind::board, Kind::area);
        if (one_of(kind, Kind::machine, Kind::load))
            return one_of(other, Kind::machine, Kind::load);
        return kind == other;
    };
    for (const auto &[other, what] : rooms)
        if (shares_names(other) && index_.contains(index_key(static_cast<char>(other), asked)))
            throw Error(ErrorCode::duplicate_name, std::string(rooms[static_cast<std::size_t>(kind)].second) + " " +
                                                       asked + ": the name is already taken by " + std::string(what) +
                                                       " " + asked + "; choose another");
}

bool Description::is_load(std::string_view asked) const {
    return index_.contains(index_key(static_cast<char>(Kind::load), asked));
}

void Description::check_claims(const std::vector<Claim> &claims) const {
    std::unordered_map<std::string_view, std::string_view> here;
    for (const Claim &claim : claims) {
        const auto before = designations_.find(claim.designation);
        const auto [same, fresh] = here.emplace(claim.designation, claim.owner);
        if (before != designations_.end() || !fresh)
            throw Error(ErrorCode::duplicate_name,
                        claim.owner + ": the designation " + claim.designation + " is already taken by " +
                            (fresh ? before->second : std::string(same->second)) + "; choose another");
    }
}

void Description::take(Kind kind, const std::string &taken, std::size_t index, const std::vector<Claim> &claims) {
    index_.emplace(index_key(static_cast<char>(kind), taken), static_cast<std::uint32_t>(index));
    for (const Claim &claim : claims)
        designations_.emplace(claim.designation, claim.owner);
}

} // namespace stopspan

#include "installation/walks.hpp"

#include "installation/outline.hpp"
#include "installation/walking_ground.hpp"

#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/dijkstra_shortest_paths_no_color_map.hpp>

#include <algorithm>
#include <limits>
#include <map>

namespace stopspan {
namespace {

using Graph = boost::adjacency_list<boost::vecS, boost::vecS, boost::undirectedS, boost::no_property,
                                    boost::property<boost::edge_weight_t, double>>;

constexpr std::size_t nowhere = static_cast<std::size_t>(-1);
constexpr double far_m = std::numeric_limits<double>::infinity();

/// Thrown by a search that can find no shorter way: the library has no other way to end it.
struct Ended {};

/// Calls `settled` with each vertex and its distance, nearest first.
template <class Settled>
struct Watch : boost::default_dijkstra_visitor {
    explicit Watch(Settled &what) : settled(what) {}
    Settled &settled;
    template <class Vertex>
    void examine_vertex(Vertex vertex, const Graph &) {
        settled(vertex);
    }
};

// Do the rectangles around two outlines come so near to each other?
bool are_near(std::span<const Position> a, std::span<const Position> b, double by_m) {
    const auto apart = [&](double Position::*along) {
        const auto less = [along](const Position &one, const Position &other) { return one.*along < other.*along; };
        const auto [a_low, a_high] = std::minmax_element(a.begin(), a.end(), less);
        const auto [b_low, b_high] = std::minmax_element(b.begin(), b.end(), less);
        return (*a_high).*along + by_m < (*b_low).*along || (*b_high).*along + by_m < (*a_low).*along;
    };
    return !apart(&Position::x_m) && !apart(&Position::y_m);
}

AreaId outermost(const Description &description, AreaId area) {
    while (description[area].within)
        area = *description[area].within;
    return area;
}

} // namespace

/// An outermost area with all that lies in it, and the rooms there.
class Walks::Floor {
public:
    Floor(const Description &description, AreaId root, double width_m) : description_(description), width_m_(width_m) {
        std::vector<AreaId> here{root};
        for (std::size_t i = 0; i < here.size(); ++i)
            for (std::uint32_t a = 0; a < description.areas().size(); ++a)
                if (description.areas()[a].within == here[i])
                    here.push_back({a});
        for (const AreaId area : here) { // outer ones first
            const Area &made = description[area];
            const bool is_room = area == root || !made.exits.empty();
            const std::size_t outer = area == root ? nowhere : room_of_.at(*made.within);
            room_of_[area] = is_room ? rooms_.size() : outer;
            if (is_room)
                rooms_.push_back({area, outer});
        }
        std::vector<std::vector<Polygon>> blocked(rooms_.size());
        for (std::size_t i = 0; i < rooms_.size(); ++i) {
            for (const AreaId area : here) // outer and inner ones, too, as far as their obstacles reach
                for (const Obstacle &obstacle : description[area].obstacles)
                    if (are_near(description[rooms_[i].area].outline, obstacle.outline, width_m))
                        blocked[i].push_back(to_polygon(obstacle.outline));
            if (rooms_[i].outer != nowhere)
                blocked[rooms_[i].outer].push_back(to_polygon(description[rooms_[i].area].outline));
        }
        for (std::size_t i = 0; i < rooms_.size(); ++i)
            grounds_.emplace_back(to_polygon(description[rooms_[i].area].outline), blocked[i], width_m);
    }

    /// Somebody in one of the rooms.
    struct Standing {
        std::size_t room;
        WalkingGround::Stand stand;
    };
    std::optional<Standing> standing(const Spot &spot) const {
        std::size_t room = room_of_.at(spot.area);
        for (std::size_t i = 0; i < rooms_.size(); ++i) // inner rooms come later
            if (rooms_[i].outer == room && is_well_inside(description_[rooms_[i].area].outline, spot.at))
                room = i;
        return standing(room, to_place(spot.at));
    }

    std::optional<Nearest> nearest(const Spot &from, std::span<const Spot> to) {
        const auto begin = standing(from);
        if (!begin)
            return std::nullopt;
        struct End {
            std::size_t index;
            Standing at;
            double on_paper_m;
        };
        std::vector<End> ends;
        for (std::size_t i = 0; i < to.size(); ++i)
            if (const auto end = room_of_.contains(to[i].area) ? standing(to[i]) : std::nullopt)
                ends.push_back({i, *end, geometry::distance(begin->stand.at, end->stand.at)});
        std::stable_sort(ends.begin(), ends.end(),
                         [](const End &a, const End &b) { return a.on_paper_m < b.on_paper_m; });

        std::optional<Nearest> best;
        const auto take = [&](const End &end, double distance_m) {
            if (!best || distance_m < best->distance_m)
                best = {end.index, distance_m};
        };
        for (const End &end : ends) {
            if (best && end.on_paper_m >= best->distance_m)
                break;
            if (const auto straight_m = straight(*begin, end.at))
                take(end, *straight_m);
        }
        if (ends.empty() || (best && best->distance_m <= ends.front().on_paper_m))
            return best;

        join();
        const std::size_t start = corners_.size();
        for (const std::size_t c : corners_in_[begin->room])
            if (const auto straight_m = straight(*begin, corners_[c]))
                boost::add_edge(start, c, *straight_m, graph_);
        std::vector<double> distances(boost::num_vertices(graph_), far_m);
        std::vector<std::size_t> before(boost::num_vertices(graph_));
        const auto settled = [&](std::size_t vertex) {
            // Drawing a way tight may make up for a little.
            if (best && distances[vertex] >= best->distance_m + width_m_)
                throw Ended();
            if (vertex == start)
                return;
            std::vector<Standing> way;
            for (std::size_t v = vertex; v != start; v = before[v])
                way.push_back(corners_[v]);
            way.push_back(*begin);
            std::reverse(way.begin(), way.end());
            for (const End &end : ends)
                if (const auto straight_m = straight(way.back(), end.at);
                    straight_m && (!best || distances[vertex] + *straight_m < best->distance_m + width_m_)) {
                    way.push_back(end.at);
                    take(end, drawn_tight_m(way));
                    way.pop_back();
                }
        };
        try {
            const auto vertices = boost::get(boost::vertex_index, graph_);
            boost::dijkstra_shortest_paths_no_color_map(
                graph_, start,
                boost::weight_map(boost::get(boost::edge_weight, graph_))
                    .distance_map(boost::make_iterator_property_map(distances.begin(), vertices))
                    .predecessor_map(boost::make_iterator_property_map(before.begin(), vertices))
                    .distance_inf(far_m)
                    .visitor(Watch(settled)));
        } catch (const Ended &) {
        }
        boost::clear_vertex(start, graph_);
        return best;
    }

private:
    struct Room {
        AreaId area;
        std::size_t outer; ///< index of the room around it
    };

    std::optional<Standing> standing(std::size_t room, const Place2d &place) const {
        const auto stand = grounds_[room].stand_at(place);
        return stand ? std::optional(Standing{room, *stand}) : std::nullopt;
    }
    std::optional<double> straight(const Standing &a, const Standing &b) const {
        return a.room == b.room ? grounds_[a.room].straight_m(a.stand, b.stand) : std::nullopt;
    }
    // Without corners that lie beside the way: somebody keeps off them, a thread does not. It may leave out a stretch
    // of corners where nothing stands between the way by them and the straight line.
    double drawn_tight_m(const std::vector<Standing> &way) const {
        const std::size_t count = way.size();
        std::vector<double> straight_between(count * count, far_m);
        for (std::size_t span = 1; span < count; ++span)
            for (std::size_t i = 0, j = span; j < count; ++i, ++j) {
                double &direct = straight_between[i * count + j];
                if (span == 1)
                    direct = way[i].room == way[j].room ? straight(way[i], way[j]).value_or(far_m) : 0; // a door
                for (std::size_t by = i + 1; by < j && direct == far_m; ++by)
                    if (straight_between[i * count + by] < far_m && straight_between[by * count + j] < far_m &&
                        cuts_short(way[i], way[by], way[j]))
                        direct = geometry::distance(way[i].stand.at, way[j].stand.at);
            }
        std::vector<double> length_m(count, far_m);
        length_m[0] = 0;
        for (std::size_t j = 1; j < count; ++j)
            for (std::size_t i = 0; i < j; ++i)
                length_m[j] = std::min(length_m[j], length_m[i] + straight_between[i * count + j]);
        return length_m.back();
    }
    bool cuts_short(const Standing &a, const Standing &by, const Standing &b) const {
        return a.room == by.room && by.room == b.room && grounds_[a.room].cuts_short(a.stand, by.stand, b.stand);
    }

    // Corners with room for a straight way between them, and both sides of each door; one vertex more is for where a
    // way begins.
    void join() {
        if (boost::num_vertices(graph_) > 0)
            return;
        std::vector<std::pair<std::size_t, std::size_t>> doors;
        for (std::size_t room = 0; room < rooms_.size(); ++room) {
            for (const WalkingGround::Stand &corner : grounds_[room].corners())
                corners_.push_back({room, corner});
            if (rooms_[room].outer == nowhere)
                continue;
            for (const Exit &exit : description_[rooms_[room].area].exits) {
                const Place2d door = on_wall(description_[rooms_[room].area].outline, to_place(exit.at));
                const auto inside = standing(room, door), outside = standing(rooms_[room].outer, door);
                if (!inside || !outside)
                    continue;
                doors.emplace_back(corners_.size(), corners_.size() + 1);
                corners_.push_back(*inside);
                corners_.push_back(*outside);
            }
        }
        graph_ = Graph(corners_.size() + 1);
        corners_in_.resize(rooms_.size());
        for (std::size_t b = 0; b < corners_.size(); ++b) {
            for (const std::size_t a : corners_in_[corners_[b].room])
                if (const auto straight_m = straight(corners_[a], corners_[b]))
                    boost::add_edge(a, b, *straight_m, graph_);
            corners_in_[corners_[b].room].push_back(b);
        }
        for (const auto &[inside, outside] : doors)
            boost::add_edge(inside, outside, 0, graph_);
    }

    static Place2d on_wall(std::span<const Position> outline, const Place2d &place) {
        Place2d nearest = to_place(outline.front());
        for (std::size_t i = 0; i < outline.size(); ++i)
            if (const Place2d at =
                    nearest_on(Segment(to_place(outline[i]), to_place(outline[(i + 1) % outline.size()])), place);
                geometry::distance(at, place) < geometry::distance(nearest, place))
                nearest = at;
        return nearest;
    }

    const Description &description_;
    const double width_m_;
    std::vector<Room> rooms_;            ///< the first is the whole
    std::vector<WalkingGround> grounds_; ///< of each room
    std::map<AreaId, std::size_t> room_of_;
    std::vector<Standing> corners_;
    std::vector<std::vector<std::size_t>> corners_in_; ///< per room
    Graph graph_;
};

Walks::Walks(const Description &description, double width_m)
    : description_(description), width_m_(width_m), floors_(description.areas().size()) {}
Walks::~Walks() = default;

Walks::Floor &Walks::floor_of(AreaId area) {
    const AreaId root = outermost(description_, area);
    std::unique_ptr<Floor> &floor = floors_.at(root.value);
    if (!floor)
        floor = std::make_unique<Floor>(description_, root, width_m_);
    return *floor;
}

std::optional<Walks::Nearest> Walks::nearest(const Spot &from, std::span<const Spot> to) {
    return floor_of(from.area).nearest(from, to);
}

bool Walks::accessible(const Spot &spot) {
    return floor_of(spot.area).standing(spot).has_value();
}

} // namespace stopspan

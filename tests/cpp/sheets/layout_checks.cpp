#include "drawing_checks.hpp"

#include "sheets/frame.hpp"
#include "sheets/label_placer.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace stopspan::test {
namespace {

struct Segment {
    Point a, b;
    std::string net; ///< empty: not a wire
};

class SheetCheck {
public:
    SheetCheck(const Drawing &drawing, const Sheet &sheet) : sheet_(sheet) {
        for (const Symbol &symbol : drawing.symbols)
            symbols_.emplace(symbol.name, &symbol);
    }

    std::vector<std::string> run() {
        collect();
        off_the_sheet();
        texts();
        wires();
        symbols_apart();
        return std::move(faults_);
    }

private:
    void fault(const std::string &words) { faults_.push_back("sheet " + sheet_.number + ": " + words); }
    static std::string at(Point p) { return " at " + std::to_string(p.x_mm) + "," + std::to_string(p.y_mm); }

    void collect() {
        for (const Primitive &primitive : sheet_.primitives)
            add(primitive, {}, nullptr);
        for (const Insert &insert : sheet_.inserts) {
            const auto found = symbols_.find(insert.symbol);
            if (found == symbols_.end()) {
                fault("unknown symbol " + insert.symbol);
                continue;
            }
            Box body{1e9, 1e9, -1e9, -1e9};
            for (const Primitive &primitive : found->second->shape)
                add(primitive, insert.at, &body);
            for (const auto &[name, point] : found->second->connection_points)
                ends_.emplace(key({insert.at.x_mm + point.x_mm, insert.at.y_mm + point.y_mm}), 0);
            const bool device = insert.attributes.contains("DESIGNATION");
            if (device && body.left < body.right)
                bodies_.emplace_back(body, insert.attributes.at("DESIGNATION"));
        }
    }

    void add(const Primitive &primitive, Point offset, Box *body) {
        const auto moved = [&](Point p) { return Point{p.x_mm + offset.x_mm, p.y_mm + offset.y_mm}; };
        const auto cover = [&](Box box) {
            extents_.push_back(box);
            if (body)
                body->include(box);
        };
        const auto segment = [&](Point a, Point b, const std::string &net) {
            (net.empty() ? lines_ : wires_).push_back({a, b, net});
            cover({std::min(a.x_mm, b.x_mm), std::min(a.y_mm, b.y_mm), std::max(a.x_mm, b.x_mm),
                   std::max(a.y_mm, b.y_mm)});
        };
        if (const auto *line = std::get_if<Line>(&primitive)) {
            segment(moved(line->a), moved(line->b), line->net);
        } else if (const auto *path = std::get_if<Polyline>(&primitive)) {
            for (std::size_t i = 0; i + 1 < path->points.size() + (path->closed ? 1 : 0); ++i)
                segment(moved(path->points[i]), moved(path->points[(i + 1) % path->points.size()]), "");
        } else if (const auto *circle = std::get_if<Circle>(&primitive)) {
            const Point c = moved(circle->centre);
            rounds_.push_back({c, circle->radius_mm, circle->filled});
            cover({c.x_mm - circle->radius_mm, c.y_mm - circle->radius_mm, c.x_mm + circle->radius_mm,
                   c.y_mm + circle->radius_mm});
            if (circle->filled && !body)
                dots_.push_back(c);
        } else if (const auto *arc = std::get_if<Arc>(&primitive)) {
            for (double t = arc->start_deg; t < arc->end_deg; t += 10) { // as short lines
                const auto on = [&](double degrees) {
                    const double radians = degrees * 3.14159265358979 / 180;
                    return moved({arc->centre.x_mm + arc->radius_mm * std::cos(radians),
                                  arc->centre.y_mm + arc->radius_mm * std::sin(radians)});
                };
                segment(on(t), on(std::min(t + 10, arc->end_deg)), "");
            }
        } else if (const auto *text = std::get_if<Text>(&primitive)) {
            Text placed = *text;
            placed.at = moved(text->at);
            texts_.push_back(placed);
        }
    }

    void off_the_sheet() {
        const Box paper{0, 0, sheet_width_mm, sheet_height_mm};
        for (const Box &box : extents_)
            if (!box.within(paper))
                fault("a line leaves the paper" + at({box.left, box.bottom}));
        for (const Text &text : texts_)
            if (!text_box(text).within({frame_left_mm - 5, frame_bottom_mm - 5, frame_right_mm + 5, frame_top_mm + 5}))
                fault("text '" + text.text + "' leaves the frame" + at(text.at));
    }

    void texts() {
        for (std::size_t i = 0; i < texts_.size(); ++i) {
            const Box box = text_box(texts_[i]);
            for (std::size_t j = i + 1; j < texts_.size(); ++j)
                if (box.overlaps(text_box(texts_[j])))
                    fault("text '" + texts_[i].text + "' over text '" + texts_[j].text + "'" + at(texts_[i].at));
            for (const std::vector<Segment> *all : {&lines_, &wires_})
                for (const Segment &line : *all)
                    if (crosses(box, line.a, line.b))
                        fault("text '" + texts_[i].text + "' over " +
                              (line.net.empty() ? "a line" : "wire " + line.net) + at(texts_[i].at));
            for (const auto &[centre, radius, filled] : rounds_) {
                const double dx = std::max({box.left - centre.x_mm, 0.0, centre.x_mm - box.right});
                const double dy = std::max({box.bottom - centre.y_mm, 0.0, centre.y_mm - box.top});
                const double fx = std::max(centre.x_mm - box.left, box.right - centre.x_mm);
                const double fy = std::max(centre.y_mm - box.bottom, box.top - centre.y_mm);
                const bool inside = std::hypot(fx, fy) < radius && !filled;
                if (std::hypot(dx, dy) < radius && !inside)
                    fault("text '" + texts_[i].text + "' over a circle" + at(texts_[i].at));
            }
        }
    }

    using Key = std::pair<long, long>;
    static Key key(Point p) { return {std::lround(p.x_mm * 1000), std::lround(p.y_mm * 1000)}; }

    void wires() {
        std::map<Key, std::vector<const Segment *>> meeting;
        for (const Segment &wire : wires_) {
            meeting[key(wire.a)].push_back(&wire);
            meeting[key(wire.b)].push_back(&wire);
            if (wire.a.x_mm != wire.b.x_mm && wire.a.y_mm != wire.b.y_mm)
                fault("wire " + wire.net + " runs askew" + at(wire.a));
        }
        for (const auto &[where, all] : meeting) {
            const Point p{static_cast<double>(where.first) / 1000, static_cast<double>(where.second) / 1000};
            for (const Segment *wire : all)
                if (wire->net != all.front()->net)
                    fault("wires " + wire->net + " and " + all.front()->net + " touch" + at(p));
            if (all.size() == 1 && !ends_.contains(where))
                fault("wire " + all.front()->net + " ends nowhere" + at(p));
            const bool dot = std::any_of(dots_.begin(), dots_.end(), [&](Point d) { return key(d) == where; });
            if ((all.size() > 2) != dot)
                fault("wire " + all.front()->net + (dot ? " has a junction too many" : " lacks a junction") + at(p));
        }
        for (const Segment &wire : wires_) {
            for (const auto &[where, all] : meeting) { // an end on the middle of a wire would be read as joined
                const Point p{static_cast<double>(where.first) / 1000, static_cast<double>(where.second) / 1000};
                const bool between = (p.x_mm == wire.a.x_mm && p.x_mm == wire.b.x_mm &&
                                      (p.y_mm - wire.a.y_mm) * (p.y_mm - wire.b.y_mm) < 0) ||
                                     (p.y_mm == wire.a.y_mm && p.y_mm == wire.b.y_mm &&
                                      (p.x_mm - wire.a.x_mm) * (p.x_mm - wire.b.x_mm) < 0);
                if (between)
                    fault("wire " + all.front()->net + " ends on wire " + wire.net + at(p));
            }
            for (const auto &[body, name] : bodies_) {
                const double slack = 0.01;
                if (crosses({body.left + slack, body.bottom + slack, body.right - slack, body.top - slack}, wire.a,
                            wire.b))
                    fault("wire " + wire.net + " runs through " + name + at(wire.a));
            }
        }
        for (std::size_t i = 0; i < wires_.size(); ++i)
            for (std::size_t j = i + 1; j < wires_.size(); ++j)
                if (lie_on_each_other(wires_[i], wires_[j]))
                    fault("wires " + wires_[i].net + " and " + wires_[j].net + " lie on each other" + at(wires_[i].a));
    }

    static bool lie_on_each_other(const Segment &p, const Segment &q) {
        const auto shared = [](double a, double b, double c, double d) {
            return std::min(std::max(a, b), std::max(c, d)) - std::max(std::min(a, b), std::min(c, d)) > 1e-6;
        };
        if (p.a.x_mm == p.b.x_mm && q.a.x_mm == q.b.x_mm && p.a.x_mm == q.a.x_mm)
            return shared(p.a.y_mm, p.b.y_mm, q.a.y_mm, q.b.y_mm);
        if (p.a.y_mm == p.b.y_mm && q.a.y_mm == q.b.y_mm && p.a.y_mm == q.a.y_mm)
            return shared(p.a.x_mm, p.b.x_mm, q.a.x_mm, q.b.x_mm);
        return false;
    }

    void symbols_apart() {
        for (std::size_t i = 0; i < bodies_.size(); ++i)
            for (std::size_t j = i + 1; j < bodies_.size(); ++j)
                if (bodies_[i].first.overlaps(bodies_[j].first))
                    fault("symbol of " + bodies_[i].second + " over that of " + bodies_[j].second);
    }

    struct Round {
        Point centre;
        double radius;
        bool filled;
    };
    const Sheet &sheet_;
    std::map<std::string, const Symbol *> symbols_;
    std::vector<Segment> lines_, wires_;
    std::vector<Round> rounds_;
    std::vector<Point> dots_;
    std::vector<Text> texts_;
    std::vector<Box> extents_;
    std::vector<std::pair<Box, std::string>> bodies_;
    std::map<Key, int> ends_;
    std::vector<std::string> faults_;
};

} // namespace

std::vector<std::string> layout_faults(const Drawing &drawing) {
    std::vector<std::string> all;
    for (const Sheet &sheet : drawing.sheets)
        for (std::string &fault : SheetCheck(drawing, sheet).run())
            all.push_back(std::move(fault));
    return all;
}

} // namespace stopspan::test

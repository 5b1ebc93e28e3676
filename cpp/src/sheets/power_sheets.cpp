#include "sheets/control_sheets.hpp"

#include <algorithm>
#include <deque>
#include <limits>
#include <map>
#include <set>

namespace stopspan {
namespace {

constexpr int most_rows = 9;
constexpr double gap_mm = 2.5, furthest_pass_mm = 40;

// Places parts beside and below each other so that pins on one net meet in one channel. What cannot is joined by name.
class PowerSheet {
public:
    PowerSheet(std::span<const std::size_t> members, std::span<const Part> parts, const NetFacts &facts, int rows)
        : parts_(parts), facts_(facts), limit_(rows) {
        for (const std::size_t member : members) {
            left_ = std::max(left_, parts[member].left_mm);
            for (const Pin &pin : parts[member].pins)
                at_[pin.net].insert(member);
        }
        seeds_.assign(members.begin(), members.end());
        const auto urgency = [&](std::size_t member) {
            return parts[member].role == PartRole::motor ? 0 : parts[member].role == PartRole::source ? 1 : 2;
        };
        const auto feed = [&](std::size_t member) { // what goes on from a full column is read from its feed on
            int least = std::numeric_limits<int>::max();
            for (const Pin &pin : parts[member].pins)
                if (facts.feed[pin.net.value] >= 0)
                    least = std::min(least, facts.feed[pin.net.value]);
            return least;
        };
        std::stable_sort(seeds_.begin(), seeds_.end(), [&](auto a, auto b) {
            return std::pair(urgency(a), feed(a)) < std::pair(urgency(b), feed(b));
        });
    }

    RowPlan plan() {
        for (const std::size_t seed : seeds_) {
            if (where_.contains(seed))
                continue;
            const double x = where_.empty() ? content_left_mm + left_ : right_ + gap_mm + parts_[seed].left_mm;
            if (!place(seed, lowest_, x))
                continue;
            spread(seed);
        }
        RowPlan plan;
        plan.rows = highest_ - lowest_ + 1;
        for (const std::size_t seed : seeds_) // a stable order whatever led there
            if (const auto found = where_.find(seed); found != where_.end())
                plan.placed.push_back({.part = seed, .row = found->second.row - lowest_, .x_mm = found->second.x});
        for (const auto &[net, members] : at_)
            pass(net, members, plan);
        return plan;
    }

private:
    struct Spot {
        int row;
        double x;
    };

    // A conductor between two terminals that skips rows, such as the neutral of a motor past a one-pole overload, is
    // led through them where there is room.
    void pass(NetId net, const std::set<std::size_t> &members, RowPlan &plan) {
        std::vector<std::pair<int, double>> ends; // channel, x
        for (const std::size_t member : members)
            if (const auto spot = where_.find(member); spot != where_.end())
                for (const Pin &pin : parts_[member].pins)
                    if (pin.net == net)
                        ends.emplace_back(pin.upper ? spot->second.row : spot->second.row + 1,
                                          spot->second.x + pin.x_mm);
        std::sort(ends.begin(), ends.end());
        if (ends.size() != 2 || ends[0].first == ends[1].first)
            return;
        for (double aside = 0; aside <= furthest_pass_mm; aside += grid_mm)
            for (const double x : {ends[1].second + aside, ends[1].second - aside}) {
                bool clear = x >= content_left_mm && x <= content_right_mm;
                for (int row = ends[0].first; row < ends[1].first; ++row)
                    clear = clear && free(row, x, x);
                if (!clear)
                    continue;
                for (int row = ends[0].first; row < ends[1].first; ++row) {
                    const std::uint32_t upper = row == ends[0].first ? 0 : passage_;
                    const std::uint32_t lower = row + 1 == ends[1].first ? 0 : ++passage_;
                    plan.passages.push_back({net, row - lowest_, x, upper, lower});
                    taken_[row].emplace_back(x - gap_mm, x + gap_mm); // room for its name
                }
                return;
            }
    }

    // Along live conductors as far as they lead, and only then along the earthed ones, which lead everywhere.
    void spread(std::size_t seed) {
        std::deque<std::size_t> queue{seed};
        std::deque<std::pair<std::size_t, const Pin *>> earthed;
        const auto follow = [&](std::size_t here, const Pin &pin) {
            for (const std::size_t next : at_[pin.net])
                if (!where_.contains(next) && !refused_.contains(next) &&
                    !(facts_.earthed[pin.net.value] && waits_for_its_feed(next))) {
                    if (beside(here, pin, next))
                        queue.push_back(next);
                    else
                        refused_.insert(next); // the sheet is full here; it comes on a later one
                }
        };
        while (!queue.empty() || !earthed.empty()) {
            if (queue.empty()) {
                follow(earthed.front().first, *earthed.front().second);
                earthed.pop_front();
                continue;
            }
            const std::size_t here = queue.front();
            queue.pop_front();
            for (const Pin &pin : parts_[here].pins) {
                if (facts_.earthed[pin.net.value])
                    earthed.emplace_back(here, &pin);
                else
                    follow(here, pin);
            }
        }
    }

    // An isolator of a column that was full begins the next one; it is not hung on the neutral at the foot of this one.
    bool waits_for_its_feed(std::size_t part) const {
        return !refused_.empty() && parts_[part].role == PartRole::poles;
    }

    // In the row in which the shared net meets in one channel, and where most pins stand over each other.
    bool beside(std::size_t here, const Pin &pin, std::size_t next) {
        const Spot spot = where_.at(here);
        const int channel = pin.upper ? spot.row : spot.row + 1;
        for (const Pin &other : parts_[next].pins)
            if (other.net == pin.net) {
                const int row = other.upper ? channel : channel - 1;
                return place(next, row, best_x(next, row, spot.x + pin.x_mm - other.x_mm));
            }
        return false;
    }

    double best_x(std::size_t part, int row, double first) const {
        std::map<double, int> votes;
        for (const Pin &pin : parts_[part].pins)
            for (const std::size_t other : at_.at(pin.net))
                if (const auto spot = where_.find(other); spot != where_.end())
                    for (const Pin &end : parts_[other].pins)
                        if (end.net == pin.net &&
                            (end.upper ? spot->second.row : spot->second.row + 1) == (pin.upper ? row : row + 1))
                            ++votes[spot->second.x + end.x_mm - pin.x_mm];
        double best = first;
        for (const auto &[x, count] : votes)
            if (count > votes[best])
                best = x;
        return best;
    }

    // At the wanted place, else the nearest free one to the right, else to the left.
    bool place(std::size_t part, int row, double wanted) {
        if (!where_.empty() && std::max(highest_, row) - std::min(lowest_, row) + 1 > limit_)
            return false;
        const double left = parts_[part].left_mm, right = parts_[part].right_mm;
        const double first = up_to_grid(content_left_mm + left), last = up_to_grid(content_right_mm - right) - grid_mm;
        if (first > last && !where_.empty())
            return false;
        const double start = std::max(up_to_grid(wanted), first);
        for (double x = start; x <= last || x == first; x += grid_mm)
            if (free(row, x - left, x + right))
                return put(part, row, x);
        for (double x = std::min(start - grid_mm, last); x >= first; x -= grid_mm)
            if (free(row, x - left, x + right))
                return put(part, row, x);
        return false;
    }

    bool free(int row, double left, double right) const {
        const auto taken = taken_.find(row);
        return taken == taken_.end() ||
               std::none_of(taken->second.begin(), taken->second.end(), [&](const std::pair<double, double> &span) {
                   return left - gap_mm < span.second && span.first < right + gap_mm;
               });
    }

    bool put(std::size_t part, int row, double x) {
        if (where_.empty())
            lowest_ = highest_ = row;
        lowest_ = std::min(lowest_, row);
        highest_ = std::max(highest_, row);
        where_.emplace(part, Spot{row, x});
        taken_[row].emplace_back(x - parts_[part].left_mm, x + parts_[part].right_mm);
        right_ = std::max(right_, x + parts_[part].right_mm);
        return true;
    }

    std::span<const Part> parts_;
    const NetFacts &facts_;
    int limit_;
    double left_ = 0, right_ = content_left_mm;
    std::map<NetId, std::set<std::size_t>> at_;
    std::vector<std::size_t> seeds_;
    std::map<std::size_t, Spot> where_;
    std::set<std::size_t> refused_;
    std::map<int, std::vector<std::pair<double, double>>> taken_;
    int lowest_ = 0, highest_ = 0;
    std::uint32_t passage_ = 0;
};

} // namespace

std::vector<CircuitSheet> power_sheets(std::span<const std::size_t> members, std::span<const Part> parts,
                                       const Circuit &circuit, const NetFacts &facts) {
    std::vector<CircuitSheet> sheets;
    std::vector<std::size_t> left(members.begin(), members.end());
    while (!left.empty()) {
        CircuitSheet sheet;
        for (int rows = most_rows; rows >= 1; --rows) {
            const RowPlan plan = PowerSheet(left, parts, facts, rows).plan();
            sheet = draw_rows(plan, parts, circuit, facts);
            if (sheet.fits)
                break;
        }
        std::set<std::size_t> drawn;
        for (const auto &where : sheet.parts)
            drawn.insert(where.subject);
        std::erase_if(left, [&](std::size_t part) { return drawn.contains(part); });
        sheets.push_back(std::move(sheet));
    }
    return sheets;
}

} // namespace stopspan

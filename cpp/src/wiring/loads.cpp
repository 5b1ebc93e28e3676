#include "base/number_text.hpp"
#include "stopspan/error.hpp"
#include "wiring/feed.hpp"

#include <algorithm>
#include <array>

namespace stopspan::wiring {
namespace {

bool is_near(double rated_v, double fed_v) {
    return rated_v >= 0.8 * fed_v && rated_v <= 1.2 * fed_v;
}

// Rated currents of fuse links, IEC 60269-1.
double fuse_above(double current_a) {
    static constexpr std::array<double, 26> rated{2,  4,   6,   8,   10,  12,  16,  20,  25,  32,  40,  50,   63,
                                                  80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250};
    const auto *found = std::lower_bound(rated.begin(), rated.end(), current_a);
    return found == rated.end() ? current_a : *found;
}

} // namespace

void add_loads(const Description &description, Draft &draft, Feeds &feeds) {
    for (std::size_t i = 0; i < description.loads().size(); ++i) {
        const KeptLoad &load = description.loads()[i];
        const std::string owner = "kept load " + load.name;
        if (draft.has(load.name)) {
            draft.set_missing(load.name, "kept", true);
            continue;
        }
        Names names(draft, owner, "0", load.name);
        const Feed &board = feeds.ahead(owner, load);
        const Feed line = feeds.next_line(board);
        std::string from = line.lines[0], back = line.neutral;
        const bool between_lines = board.three_phase() && is_near(load.voltage_v, board.line_to_line_v());
        if (between_lines) {
            from = board.lines[0];
            back = board.lines[1];
        } else if (!is_near(load.voltage_v, board.voltage_v)) {
            throw Error(ErrorCode::contradiction,
                        owner + ": it is rated " + format_fixed(load.voltage_v, 0) + " V but board " +
                            description[board.board].name + " gives " + format_fixed(board.voltage_v, 0) +
                            " V to neutral; correct voltage_v, or record the load and its transformer by hand");
        }
        const auto fuse = [&](const std::string &in, const std::string &out) {
            const std::string designation = draft.free_designation("F0." + std::to_string(i + 1));
            draft.add(owner, designation, DeviceKind::fuse, {{"1", in}, {"2", out}},
                      {{"rating_a", fuse_above(load.current_a)}});
            draft.stands(designation, "board " + description[board.board].name);
            return out;
        };
        from = fuse(from, names.net("1"));
        if (between_lines)
            back = fuse(back, names.net("2"));
        draft.add(owner, load.name, DeviceKind::load, {{"1", from}, {"2", back}},
                  {{"voltage_v", load.voltage_v}, {"current_a", load.current_a}, {"kept", true}});
    }
}

} // namespace stopspan::wiring

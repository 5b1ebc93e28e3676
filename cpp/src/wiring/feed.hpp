#pragma once

#include "stopspan/description.hpp"
#include "wiring/names.hpp"

namespace stopspan::wiring {

/// Power at one point of the distribution: nets of its line poles (three or one) and of its neutral.
struct Feed {
    std::vector<std::string> lines;
    std::string neutral;
    double voltage_v = 230;                ///< to neutral
    BoardId board{};                       ///< the board it comes from
    std::vector<std::string> isolators{};  ///< that stand ahead of it, from the supply on
    std::vector<std::string> contactors{}; ///< zone contactors that stand ahead of it

    bool three_phase() const { return lines.size() == 3; }
    double line_to_line_v() const;
    /// The same point with one of its lines only.
    Feed one_line(std::size_t line) const;
};

/// "L1" "L2" "L3", or "L".
std::string line_name(const Feed &feed, std::size_t line);

/// Switches every pole of a feed. One that was recorded by hand stays as it is; its load side is then read from it.
/// @param nets  names of the load-side nets: those of the lines, then that of the neutral
Feed behind_isolator(Draft &draft, const std::string &owner, const std::string &isolator, const Feed &feed,
                     const std::vector<std::string> &nets);

/// Sources, boards and isolators of areas, and what each point of them feeds.
class Feeds {
public:
    Feeds(const Description &description, Draft &draft);
    const Feed &board(BoardId board) const { return boards_[board.value]; }
    /// Feed of something in an area: its own board, else behind the isolators of the areas around it.
    /// @param owner  for the message: "machine Drill"
    /// @throws Error (missing_value) when no board feeds it
    const Feed &at(const std::string &owner, AreaId area, std::optional<BoardId> own_board) const;
    /// Feed of a kept load: ahead of everything a stop can cut, so behind no area's isolator either.
    const Feed &ahead(const std::string &owner, const KeptLoad &load) const;
    /// One-phase consumers take the lines of a board in turn.
    Feed next_line(const Feed &feed);

private:
    const Description &description_;
    std::vector<Feed> boards_;
    std::vector<std::optional<Feed>> areas_; ///< none: no board feeds it
    std::vector<std::size_t> one_phase_;     ///< per board: consumers so far
};

/// Sources of the description that are not recorded, with kept loads and their fuses.
void add_loads(const Description &description, Draft &draft, Feeds &feeds);

} // namespace stopspan::wiring

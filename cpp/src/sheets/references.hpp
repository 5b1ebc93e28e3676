#pragma once

#include "sheets/row_plan.hpp"

#include <map>
#include <string>
#include <vector>

namespace stopspan {

/// Where parts and nets are on all sheets, so that sheets can point at each other. Of a net, the piece it comes from
/// refers to the others, and these refer to it.
class References {
public:
    References(std::span<const Part> parts, const Circuit &circuit, const NetFacts &facts)
        : parts_(parts), circuit_(circuit), facts_(facts) {}

    /// Takes in what stands on a sheet; sheets in order.
    void add(const CircuitSheet &circuit, const std::string &number);

    /// Writes the references of the next sheet, in the same order. An arrow that leads nowhere becomes a plain name.
    void write(const CircuitSheet &circuit, Sheet &sheet);

    /// What does not fit beside a symbol or a name: name and text of each line of a list.
    struct Line {
        std::string name, text;
    };
    std::vector<Line> list() const;

private:
    std::string text_of(const Reference &reference, std::size_t first_piece) const;
    std::vector<std::string> places_elsewhere(std::size_t piece) const;
    std::string in_room(const std::vector<std::string> &places, double room_mm) const;

    std::span<const Part> parts_;
    const Circuit &circuit_;
    const NetFacts &facts_;
    std::map<std::uint32_t, std::string> places_, coils_; ///< of parts; of the coil of a device
    struct Piece {
        NetId net;
        int feeds;
        std::string place;
    };
    std::vector<Piece> pieces_;                           ///< of all sheets, in order
    std::map<NetId, std::vector<std::size_t>> pieces_of_; ///< the one that feeds the others first
    std::size_t written_ = 0;                             ///< pieces of the sheets written so far
};

} // namespace stopspan

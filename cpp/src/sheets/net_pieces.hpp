#pragma once

#include "sheets/channel.hpp"
#include "sheets/parts.hpp"

#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace stopspan {

/// Wires of one net that hang together on a sheet. Other pieces of the net are joined to it by name.
struct NetPiece {
    NetId net;
    int feeds = 0;        ///< how far the net comes from here: the piece that feeds most is the one others refer to
    std::string place;    ///< of its mark: "4" path, "B4" zone
    std::size_t mark = 0; ///< index of the insert that names it and refers to the others
};

/// A terminal on a sheet. @see feeding
struct PlacedEnd {
    Point at;
    int feeds = 0;
};
/// How far a pin of a part is where its net comes from: a source's pole more than the load side of a contactor, that
/// more than of a contact, and what only takes current not at all.
int feeding(const Part &part, bool upper);

/// A net named on a sheet.
struct PlacedMark {
    NetId net;
    Point at;
    NetMark::Kind kind;
    std::string place;
    std::size_t insert;
};

/// The pieces of all nets of a sheet, each with the one of its marks that is to show references: an arrow, else the
/// first. @param chosen  by piece: index of that mark
std::vector<NetPiece> net_pieces(const Sheet &sheet, std::span<const PlacedEnd> ends, std::span<const PlacedMark> marks,
                                 std::vector<std::size_t> &chosen);

} // namespace stopspan

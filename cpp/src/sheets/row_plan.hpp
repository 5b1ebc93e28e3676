#pragma once

#include "sheets/net_facts.hpp"
#include "sheets/net_pieces.hpp"
#include "sheets/parts.hpp"

#include <cstdint>
#include <span>
#include <vector>

namespace stopspan {

/// Where the content of a sheet may be, inside the frame and above the title block, or beside it.
inline constexpr double content_left_mm = 28, content_right_mm = 405, content_top_mm = 280, content_bottom_mm = 50;
inline constexpr double beside_title_right_mm = 225, beside_title_bottom_mm = 22.5;

/// Symbols of one sheet in rows, with channels of wires between, above and below them: channel k lies above row k.
struct RowPlan {
    struct Placed {
        std::size_t part;
        int row = 0;
        double x_mm = 0;                                    ///< of the part's origin, on the sheet
        bool turned = false;                                ///< second terminal above
        std::uint32_t upper_passage = 0, lower_passage = 0; ///< not 0: its wire goes on to a passage
    };
    /// A wire straight through a row.
    struct Passage {
        NetId net;
        int row = 0;
        double x_mm = 0;
        std::uint32_t upper = 0, lower = 0; ///< passage of the channel above and below; 0: it ends there
    };
    int rows = 0;
    std::vector<Placed> placed;
    std::vector<Passage> passages;
    std::vector<double> paths; ///< x of the numbered current paths; empty on power sheets
};

/// What a sheet may refer to elsewhere. Resolved when all sheets are laid out.
struct Reference {
    enum class To { net, coil, contact, device } to;
    std::uint32_t subject; ///< piece index, device id, part index, part index of the one that refers
    Text text;             ///< the place is appended to its text
    double room_mm = 0;    ///< how long the place may be with the number of further ones
};

/// A sheet drawn from a plan, its references still open.
struct CircuitSheet {
    Sheet sheet;
    bool fits = true;      ///< else plan again, with fewer rows
    double right_mm = 0;   ///< where the drawing ends
    std::size_t paths = 0; ///< numbered current paths
    std::vector<Reference> references;
    struct Where {
        std::uint32_t subject; ///< part index or net id
        std::string place;     ///< "4" path, "B4" zone
    };
    std::vector<Where> parts;
    std::vector<NetPiece> pieces;
};

/// Draws symbols, wires, names and coil tables: parallel wires 5 mm apart or, where that does not fit, 2.5 mm; what
/// room is left is shared out between the rows.
CircuitSheet draw_rows(const RowPlan &plan, std::span<const Part> parts, const Circuit &circuit, const NetFacts &facts);

/// Height of the tables under the coils, and the width one and each of its columns takes.
inline constexpr std::size_t coil_table_lines = 8;
inline constexpr double coil_table_line_mm = 3.75;
struct CoilTable {
    std::vector<std::size_t> contacts; ///< part indices
    std::string heading;
};
/// The parts of the coil's device that it moves; empty for a second coil or anything else.
CoilTable coil_table(std::span<const Part> parts, std::size_t coil, const Circuit &circuit);
double coil_table_width_mm(std::span<const Part> parts, const CoilTable &table);
double coil_table_column_mm(std::span<const Part> parts, const CoilTable &table);

/// Field of the sheet frame, "B4".
std::string zone_of(Point at);

} // namespace stopspan

#pragma once

#include "stopspan/circuit.hpp"

#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

namespace stopspan {

/// Contactors and relays that each get a twin with its contacts in series, and for the coils of the twins the row of
/// contacts and fuses once more: what joins two nets of one row leaves the other to open. So may the overloads.
struct SecondRow {
    struct Piece {
        std::string device, like; ///< like: of a fuse that is new
        Contact block;
        std::string from, to; ///< nets
    };
    struct Twin {
        std::string device, like, feed, back; ///< feed and back: nets of its coil; empty: an overload's
        std::vector<Contact> contacts;        ///< in series behind those of the other
    };
    std::vector<Piece> pieces;
    std::vector<Twin> twins;
    std::map<std::string, std::string>
        nets;                      ///< of the first row, and what stands for them in the second; both are fed alike
    std::set<std::string> between; ///< nets that only the second has
};

/// A coil's row: the contacts and fuses on the ways from where it is fed to its first end, and the nets they join.
struct CoilRow {
    std::string coil;
    std::set<std::string> nets; ///< with those it is fed from
};
/// Of the contactors and relays that have one.
std::vector<CoilRow> coil_rows(const Circuit &circuit);
/// Coils that may need a second row for two nets to touch without harm: one or all of those with both nets in their
/// rows, or with one of them. Never many.
std::vector<std::vector<std::string>> coils_between(const std::vector<CoilRow> &rows, const std::string &one,
                                                    const std::string &other);

/// What the second row does for an overload, which has one contact: the trip lets the first contactor fall, and that
/// the twin; or the overload gets a twin, too, and each row holds only while both contactors are in: else what one trip
/// lets fall would come in again as that overload cools.
enum class Trips { first_row, both_rows };
/// @param names  what nothing new may be called like
/// @returns nothing where some contact of the rows can not be had twice, or there is no overload to be had twice
std::optional<SecondRow> second_row(const Circuit &circuit, const std::vector<std::string> &coils, Trips trips,
                                    const Circuit &names);

bool fits(const Circuit &circuit, const SecondRow &row);
/// @pre fits(circuit, row)
void apply(Circuit &circuit, const SecondRow &row);
/// @pre fits(before, row)
std::string text_of(const SecondRow &row, const Circuit &before);

} // namespace stopspan

#pragma once

#include "stopspan/description.hpp"
#include "stopspan/verdict.hpp"
#include "stopspan/wiring.hpp"

#include <cstddef>
#include <string>
#include <vector>

namespace stopspan {

/// A table of text, its rows in an order that depends on the installation alone.
struct List {
    std::string name;                 ///< "wires"; also the stem of its file
    std::string title;                ///< "Wires"
    std::string remark{};             ///< what a reader must know to use it; may be empty
    std::vector<std::string> columns; ///< "length_m": a number's unit stands in the name of its column
    std::vector<std::vector<std::string>> rows;
    std::size_t boxes = 0; ///< so many of the last columns are filled in by hand
};

/// What is bought, cut, labelled, set and tried, from the circuit as wired: wires, terminals, cables, parts, settings,
/// labels, commissioning. An empty field is a value nobody stated.
std::vector<List> lists(const Description &description, const Wired &wired, const Verdict &verdict);

} // namespace stopspan

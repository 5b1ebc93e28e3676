#pragma once

#include "stopspan/check.hpp"
#include "stopspan/circuit.hpp"
#include "stopspan/description.hpp"
#include "stopspan/drawing.hpp"
#include "stopspan/exporter.hpp"
#include "stopspan/lists.hpp"
#include "stopspan/sizes.hpp"
#include "stopspan/verdict.hpp"

#include <cstddef>
#include <string>
#include <vector>

namespace stopspan {

struct ExportOptions {
    std::string format = {}; ///< empty: from the suffix of the path
    bool each_sheet = false; ///< a file for each sheet, its number added to the name: "plan-03.svg"
};

/// The whole line in one hand: what is asked, what was recorded, what is wired, what it does, what is drawn.
class Installation {
public:
    explicit Installation(std::string name) : description(std::move(name)) {}
    /// An installation file (.xml) or a wiring table (.csv). @throws FileError
    static Installation load(const std::string &path);
    /// What is asked and what was recorded, as .xml. @throws FileError (unwritable)
    void save(const std::string &path) const;

    Description description;
    Circuit recorded; ///< entered as found

    /// The circuit as wired: arrangements and what was recorded. @throws Error as wire()
    Circuit circuit() const;
    /// Checks the wired circuit against description.asked(). A recorded circuit alone is checked as Circuit is.
    Verdict check(CheckOptions options = {}) const;
    /// Sizes of the wired circuit. @throws Error as wire() and sizes()
    Sizes sizes(const SizeOptions &options = {}) const;
    Drawing drawing() const;
    /// What is bought, cut, labelled, set and tried. @see stopspan::lists
    std::vector<List> lists() const;
    /// Each list as a CSV file of its name, "wires.csv", in a folder, which is made when it is not there.
    /// @throws FileError (unwritable)
    void export_lists(const std::string &folder) const;
    /// Keeps the results of a commissioning list (CSV) that was filled in: all or, where one is refused, none.
    /// @returns how many  @throws FileError
    std::size_t record_commissioning(const std::string &path);
    /// "xml" is the installation file with the circuit as wired and the verdict, "csv" the wiring table; others are
    /// exporters of the registry.
    /// @throws Error (no_exporter; bad_value for single sheets of what has none), FileError (unwritable)
    void export_to(const std::string &path, const ExporterRegistry &registry, const ExportOptions &options = {}) const;
};

} // namespace stopspan

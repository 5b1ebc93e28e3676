#pragma once

#include "stopspan/check.hpp"
#include "stopspan/circuit.hpp"
#include "stopspan/description.hpp"
#include "stopspan/drawing.hpp"
#include "stopspan/exporter.hpp"
#include "stopspan/verdict.hpp"

#include <string>

namespace stopspan {

/// The whole line in one hand: what is asked, what was recorded, what is wired, what it does, what is drawn.
class Installation {
public:
    explicit Installation(std::string name) : description(std::move(name)) {}
    /// An installation file (.xml) or a wiring table (.csv). @throws FileError
    static Installation load(const std::string &path);
    void save(const std::string &path) const;

    Description description;
    Circuit recorded; ///< entered as found

    /// The circuit as wired: arrangements and what was recorded. @throws Error as wire()
    Circuit circuit() const;
    /// Checks the wired circuit against description.asked(). A recorded circuit alone is checked as Circuit is.
    Verdict check(CheckOptions options = {}) const;
    Drawing drawing() const;
    /// "xml" is the installation file, "csv" the wiring table; others are exporters of the registry.
    /// @param format  empty: from the suffix of the path
    /// @throws Error (no_exporter), FileError (unwritable)
    void export_to(const std::string &path, const ExporterRegistry &registry, std::string format = {}) const;
};

} // namespace stopspan

#pragma once

#include "stopspan/circuit.hpp"
#include "stopspan/description.hpp"
#include "stopspan/lists.hpp"
#include "stopspan/verdict.hpp"

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace stopspan {

/// What an installation file holds: what is asked, and the circuit recorded by hand.
struct InstallationFile {
    Description description;
    Circuit recorded;
    friend bool operator==(const InstallationFile &, const InstallationFile &) = default;
};

/// Namespace of the installation file.
inline constexpr std::string_view installation_namespace = "urn:stopspan:installation:1";
/// The published XML schema, as text.
std::string_view installation_schema();

/// What was made of an installation: for readers of the file that cannot make it themselves.
struct Proved {
    Circuit wired;
    Verdict verdict;
};

/// XML text of an installation: write, read, write gives the same bytes.
/// @param proved  written too, when given
std::string write_installation(const InstallationFile &file, const Proved *proved = nullptr);
/// A circuit as wired and a verdict in the file are checked for their form and left: they are made anew from the
/// rest, which may have been changed since.
/// @param name  file name for messages
/// @throws FileError with the line
InstallationFile read_installation(std::string_view xml, const std::string &name = "installation");

/// Wiring table, CSV: device,kind,terminal,net,parameter,value; one terminal or one parameter a row.
std::string write_wiring_table(const Circuit &circuit);
/// @throws FileError with the line
Circuit read_wiring_table(std::string_view csv, const std::string &name = "wiring table");

/// CSV (RFC 4180) of a list: its columns, then its rows.
std::string write_list(const List &list);

/// Rows of a commissioning list that were filled in; those without a result, run-down, name and date were not tried
/// yet.
/// @throws FileError with the line: a column is missing; as Description::record
std::vector<TestRecord> read_commissioning(std::string_view csv, const std::string &name = "commissioning");

/// Whole file as bytes. @throws FileError (unreadable)
std::string read_file(const std::string &path);
/// Writes beside and renames: the old file stays whole until the new one is. @throws FileError (unwritable)
void write_file(const std::string &path, std::string_view bytes);

} // namespace stopspan

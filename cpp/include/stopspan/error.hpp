#pragma once

#include <stdexcept>
#include <string>

namespace stopspan {

/// What kind of refusal an Error is. Users and tests rely on the numbers: never renumber.
enum class ErrorCode {
    bad_value = 1,      ///< a number that is not finite or out of range, an unknown word
    duplicate_name = 2, ///< a designation or name used twice
    unknown_name = 3,   ///< a reference to something that is not there
    bad_terminal = 4,   ///< a terminal the device kind does not have, or not enough of them
    missing_value = 5,  ///< something without which no meaning is possible (a coil without voltage)
    contradiction = 6,  ///< values that cannot be true together (cyclic areas, machine outside its area)
    unreadable = 7,     ///< a file that is not what it should be
    unwritable = 8,     ///< an output that could not be written
    no_exporter = 9,    ///< no exporter for this format
    bad_act = 10,       ///< an act that this device or net does not have
};

/// A mistake of the caller or of an input file. The message names the object and the way out;
/// whatever was being changed is unchanged.
class Error : public std::runtime_error {
public:
    Error(ErrorCode code, const std::string &message) : std::runtime_error(message), code_(code) {}
    ErrorCode code() const noexcept { return code_; }

private:
    ErrorCode code_;
};

/// An Error met while reading a file: the message starts with "file:line: ".
class FileError : public Error {
public:
    /// @param line  1-based; 0 when the whole file is meant
    FileError(ErrorCode code, std::string file, std::size_t line, const std::string &message)
        : Error(code, file + (line ? ":" + std::to_string(line) : "") + ": " + message), file_(std::move(file)),
          line_(line) {}
    const std::string &file() const noexcept { return file_; }
    std::size_t line() const noexcept { return line_; }

private:
    std::string file_;
    std::size_t line_;
};

} // namespace stopspan

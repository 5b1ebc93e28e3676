#include "stopspan/files.hpp"

#include "files/text_file.hpp"
#include "stopspan/error.hpp"

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <memory>

#include <unistd.h>

namespace stopspan {
namespace {

namespace fs = std::filesystem;

struct Close {
    void operator()(std::FILE *file) const { std::fclose(file); }
};
using Open = std::unique_ptr<std::FILE, Close>;

std::string reason() {
    return std::strerror(errno);
}

[[noreturn]] void unwritable(const std::string &path, const std::string &why) {
    throw FileError(ErrorCode::unwritable, path, 0, "cannot be written: " + why);
}

void write_all(std::FILE *file, const std::string &path, std::string_view bytes) {
    if (std::fwrite(bytes.data(), 1, bytes.size(), file) != bytes.size() || std::fflush(file) != 0)
        unwritable(path, reason());
}

// A new file beside the target; "x" makes the system refuse a name that exists, so nothing is overwritten or followed.
Open create_beside(const std::string &path, std::string &beside) {
    for (int i = 0; i < 100; ++i) {
        beside = path + "." + std::to_string(i) + ".part";
        if (Open file{std::fopen(beside.c_str(), "wbx")})
            return file;
        if (errno != EEXIST)
            break;
    }
    unwritable(path, reason());
}

} // namespace

std::string read_file(const std::string &path) {
    const auto unreadable = [&](const std::string &why) {
        throw FileError(ErrorCode::unreadable, path, 0, "cannot be read: " + why);
    };
    std::error_code ignored;
    if (fs::is_directory(path, ignored))
        unreadable("it is a folder; name a file");
    const Open file(std::fopen(path.c_str(), "rb"));
    if (!file)
        unreadable(reason());
    std::string bytes;
    std::array<char, 1 << 16> buffer;
    while (const std::size_t count = std::fread(buffer.data(), 1, buffer.size(), file.get())) {
        bytes.append(buffer.data(), count);
        if (bytes.size() > largest_file_bytes)
            unreadable("it is larger than " + std::to_string(largest_file_bytes >> 20) + " MiB; split it");
    }
    if (std::ferror(file.get()))
        unreadable(reason());
    return bytes;
}

void write_file(const std::string &path, std::string_view bytes) {
    std::error_code error;
    if (fs::is_directory(path, error))
        unwritable(path, "it is a folder; name a file in it");
    // A pipe or terminal has no beside and nothing to keep whole.
    const fs::file_status before = fs::status(path, error);
    if (fs::exists(before) && !fs::is_regular_file(before)) {
        const Open file(std::fopen(path.c_str(), "wb"));
        if (!file)
            unwritable(path, reason());
        return write_all(file.get(), path, bytes);
    }
    if (fs::exists(before) && ::access(path.c_str(), W_OK) != 0)
        unwritable(path, reason()); // renaming over it would get round its protection
    const fs::path folder = fs::path(path).parent_path();
    if (!folder.empty() && !fs::is_directory(folder, error))
        unwritable(path, "there is no folder '" + folder.string() + "'; make it, or name another");
    // Behind a symbolic link it is the file that is replaced, not the link.
    std::string target = path;
    if (fs::is_symlink(fs::symlink_status(path, error)))
        target = fs::weakly_canonical(path, error).string();
    std::string beside;
    Open file = create_beside(target, beside);
    try {
        write_all(file.get(), path, bytes);
        if (fs::exists(before)) // the file keeps who may read it
            fs::permissions(beside, before.permissions(), error);
        if (::fsync(::fileno(file.get())) != 0) // else a power failure can leave the new name with no content
            unwritable(path, reason());
        file.reset();
        fs::rename(beside, target, error);
        if (error)
            unwritable(path, error.message());
    } catch (...) {
        file.reset();
        std::remove(beside.c_str());
        throw;
    }
}

} // namespace stopspan

// Tries seeds, and a fixed number of changed ones, on the function that libFuzzer calls: short enough for every run of
// the tests, the same each time. Arguments: the suffix of the seeds, which of them to try unchanged (1: each, 3: every
// third), the number of changed ones, the folder they are in.
#include "changes.hpp"

#include <algorithm>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t *data, std::size_t size);

namespace {

std::vector<std::string> seeds_in(const std::filesystem::path &folder, const std::string &suffix) {
    std::vector<std::filesystem::path> paths;
    for (const auto &entry : std::filesystem::directory_iterator(folder))
        if (entry.path().extension() == suffix)
            paths.push_back(entry.path());
    std::ranges::sort(paths);
    std::vector<std::string> seeds;
    for (const auto &path : paths) {
        std::ifstream in(path, std::ios::binary);
        seeds.emplace_back(std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>());
    }
    return seeds;
}

void try_one(const std::string &input, const std::string &kept_as) {
    std::ofstream(kept_as, std::ios::binary) << input; // what stands there after a crash is what made it
    LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t *>(input.data()), input.size());
}

} // namespace

int main(int count, char **arguments) {
    if (count != 5) {
        std::fprintf(stderr, "usage: %s SUFFIX EVERY CHANGED FOLDER\n", arguments[0]);
        return 2;
    }
    const std::string suffix = arguments[1], kept_as = "crashing-input" + suffix;
    const std::size_t every = std::stoul(arguments[2]), changed = std::stoul(arguments[3]);
    const std::vector<std::string> seeds = seeds_in(arguments[4], suffix);
    if (seeds.empty() || every == 0) {
        std::fprintf(stderr, "nothing to try: no file with suffix %s, or none of them wanted\n", suffix.c_str());
        return 1;
    }
    for (std::size_t i = 0; i < seeds.size(); i += every)
        try_one(seeds[i], kept_as);
    stopspan::fuzz::Changes changes(20'261'126);
    for (std::size_t i = 0; i < changed; ++i) {
        std::string input = seeds[changes.below(seeds.size())];
        changes.change(input, seeds[changes.below(seeds.size())]);
        try_one(input, kept_as);
    }
    std::filesystem::remove(kept_as);
    std::printf("%zu seeds, %zu changed ones: refused or taken, and nothing broke\n",
                (seeds.size() + every - 1) / every, changed);
}

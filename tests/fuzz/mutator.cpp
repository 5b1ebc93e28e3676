// Tells libFuzzer to change three inputs of four word by word and line by line: bytes changed blindly are nearly always
// refused by the reader, and then no circuit is ever checked.
#include "changes.hpp"

#include <algorithm>
#include <cstring>

extern "C" std::size_t LLVMFuzzerMutate(std::uint8_t *data, std::size_t size, std::size_t most);

namespace {

std::string text_of(const std::uint8_t *data, std::size_t size) {
    return {reinterpret_cast<const char *>(data), size};
}

std::size_t put(const std::string &text, std::uint8_t *data, std::size_t most) {
    const std::size_t size = std::min(text.size(), most);
    std::memcpy(data, text.data(), size);
    return size;
}

} // namespace

extern "C" std::size_t LLVMFuzzerCustomMutator(std::uint8_t *data, std::size_t size, std::size_t most, unsigned seed) {
    if (seed % 4 == 0)
        return LLVMFuzzerMutate(data, size, most);
    std::string text = text_of(data, size);
    stopspan::fuzz::Changes(seed).change(text, text_of(data, size));
    return put(text, data, most);
}

extern "C" std::size_t LLVMFuzzerCustomCrossOver(const std::uint8_t *data, std::size_t size, const std::uint8_t *other,
                                                 std::size_t other_size, std::uint8_t *out, std::size_t most,
                                                 unsigned seed) {
    std::string text = text_of(data, size);
    stopspan::fuzz::Changes(seed).change(text, text_of(other, other_size));
    return put(text, out, most);
}

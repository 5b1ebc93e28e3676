#pragma once

#include <algorithm>
#include <atomic>
#include <cstddef>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

namespace stopspan {

/// Does work for 0 to count - 1, on several threads that each take the next few.
/// @param make_worker  called once on every thread; returns what is called with each number
/// @throws what a worker threw first; the others end what they have begun
template <class MakeWorker>
void in_parallel(std::size_t count, unsigned threads, MakeWorker &&make_worker) {
    threads = static_cast<unsigned>(std::min<std::size_t>(std::max(1U, threads), std::max<std::size_t>(1, count)));
    const std::size_t few = std::clamp<std::size_t>(count / (8 * threads), 1, 16); // neighbours have much in common
    std::atomic<std::size_t> next{0};
    std::mutex guard;
    std::exception_ptr trouble;
    const auto work = [&] {
        try {
            auto &&worker = make_worker();
            for (std::size_t from; (from = next.fetch_add(few)) < count;)
                for (std::size_t i = from; i < std::min(count, from + few); ++i)
                    worker(i);
        } catch (...) {
            const std::scoped_lock lock(guard);
            if (!trouble)
                trouble = std::current_exception();
            next = count;
        }
    };
    std::vector<std::thread> helpers;
    for (unsigned t = 1; t < threads; ++t)
        helpers.emplace_back(work);
    work();
    for (std::thread &helper : helpers)
        helper.join();
    if (trouble)
        std::rethrow_exception(trouble);
}

} // namespace stopspan

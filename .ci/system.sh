# Sourced by .ci/setup and tests/run.
on_debian_12() {
    [ -r /etc/os-release ] && (. /etc/os-release && [ "${ID:-}" = debian ] && [ "${VERSION_ID:-}" = 12 ])
}

# Debian's own compiler, CMake and Python belong together, whatever else stands first in PATH.
if on_debian_12; then
    export PATH="/usr/bin:/bin:$PATH"
fi

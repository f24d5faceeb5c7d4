#!/usr/bin/env bash
# Programs that some tests drive: Chromium, and a PostgreSQL server. They are installed from the
# system's own packages where that is possible; where it is not, the tests that need them say
# what is missing, and are skipped (or fail, where CI is set).
set -euo pipefail

missing=()
command -v chromium >/dev/null 2>&1 || command -v chromium-browser >/dev/null 2>&1 ||
    missing+=(chromium)
command -v initdb >/dev/null 2>&1 || compgen -G '/usr/lib/postgresql/*/bin/initdb' >/dev/null ||
    missing+=(postgresql)

if [ ${#missing[@]} -eq 0 ]; then
    exit 0
fi
if [ "$(id -u)" -ne 0 ] || ! command -v apt-get >/dev/null 2>&1; then
    echo "Not here, and not installed (needs root and apt): ${missing[*]}. Tests that need them are skipped."
    exit 0
fi
echo "Installing what some tests drive: ${missing[*]} ..."
export DEBIAN_FRONTEND=noninteractive
apt-get update -qq || true
apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null ||
    echo "Could not install ${missing[*]}. Tests that need them are skipped."

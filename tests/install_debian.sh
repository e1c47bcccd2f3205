#!/bin/sh
# Chromium for the browser tests, PostgreSQL for the store tests and nginx for those of the pages behind a proxy,
# where this user may install packages.
set -u
wanted=""
command -v chromium >/dev/null 2>&1 || wanted="$wanted chromium"
ls /usr/lib/postgresql/*/bin/postgres >/dev/null 2>&1 || wanted="$wanted postgresql"
[ -x /usr/sbin/nginx ] || command -v nginx >/dev/null 2>&1 || wanted="$wanted nginx-light"
command -v openssl >/dev/null 2>&1 || wanted="$wanted openssl"
[ -n "$wanted" ] || exit 0
if [ "$(id -u)" != 0 ] || ! command -v apt-get >/dev/null 2>&1; then
    echo "Not installed:$wanted (needs root and apt-get); their tests will skip."
    exit 0
fi
echo "Installing:$wanted"
export DEBIAN_FRONTEND=noninteractive
# shellcheck disable=SC2086
{ apt-get update -qq && apt-get install -y -qq $wanted; } >/tmp/droplight-apt.log 2>&1 && exit 0
[ "${CI:-}" != true ] || { tail -n 20 /tmp/droplight-apt.log; exit 1; }
echo "Could not install:$wanted; their tests will skip."

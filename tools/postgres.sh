#!/usr/bin/env bash
# Runs a command against a PostgreSQL server of its own: started in a folder of its own, stopped and removed after.
#   tools/postgres.sh COMMAND [WORD…]
# The server comes from the system's package. It refuses to run as root, so root starts it as another user.
set -euo pipefail

here=$(cd "$(dirname "$0")" && pwd)

server() {
    local found
    for found in $(ls -d /usr/lib/postgresql/*/bin /usr/local/pgsql/bin /usr/pgsql-*/bin 2>/dev/null | sort -Vr); do
        [ -x "$found/initdb" ] && { echo "$found"; return 0; }
    done
    found=$(command -v initdb) && dirname "$(readlink -f "$found")"
}

bin=$(server) || { bash "$here/machine.sh" postgres && bin=$(server); } ||
    { echo "There is no PostgreSQL server on this machine, and these tests need one." >&2; exit 1; }

# A socket's path has to be short, so that it is not left to TMPDIR.
folder=$(mktemp -d /tmp/bayproof-postgres-XXXXXX)
as_server() { "$@"; }
if [ "$(id -u)" = 0 ]; then
    user=$(id -un postgres 2>/dev/null || echo nobody)
    chown "$user" "$folder"
    as_server() { runuser -u "$user" -- env HOME="$folder" "$@"; }
fi

stop() {
    as_server "$bin/pg_ctl" -D "$folder/data" -m immediate -s stop >/dev/null 2>&1 || true
    rm -rf "$folder"
}
trap stop EXIT
trap 'exit 130' INT TERM

# What is thrown away afterwards need not survive a power cut.
options="-c listen_addresses= -c unix_socket_directories=$folder -c fsync=off -c full_page_writes=off"
options="$options -c synchronous_commit=off -c max_connections=60"
cd "$folder"
{
    as_server "$bin/initdb" -D "$folder/data" -U shop -A trust -E UTF8 --no-locale --no-sync
    as_server "$bin/pg_ctl" -D "$folder/data" -l "$folder/log" -o "$options" -w start
    as_server "$bin/createdb" -h "$folder" -U shop shop
} >"$folder/said" 2>&1 || { cat "$folder/said" "$folder/log" >&2 2>/dev/null; exit 1; }
cd "$OLDPWD"

SHOP_DATABASE="postgres://shop@${folder//\//%2F}/shop" "$@"

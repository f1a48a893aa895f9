#!/bin/sh
# Every screen of format/fill.md comes back as it stands there; see tests/readme.sh.
cd "$(dirname "$0")/.." && DOC=format/fill.md sh tests/readme.sh

#!/usr/bin/env bash
# Measures the first build's deck with the simulated learners, and prints the rows of
# figures.txt: seed, items known after 30 days under each truth, answers until 90 % of the
# find items are known. Arguments: from which seed, up to which, and up to which seed the
# last column is measured. It takes some seconds a seed.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
tree=$(mktemp -d); trap 'git -C "$here" worktree remove --force "$tree"' EXIT
git -C "$here" worktree add --quiet --detach "$tree" de5880c
rm "$tree"/drills/memory/*_test.go
cp "$here/../../simulated_test.go" "$tree/drills/memory/"
cp "$here/plan_test.go.txt" "$tree/drills/memory/plan_test.go"
cd "$tree"
SEEDS="${1:-0} ${2:-500} ${3:-100}" go test -count=1 -timeout 6h -run 'TestMeasure$' -v ./drills/memory | sed -un 's/^= //p'

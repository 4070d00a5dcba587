#!/usr/bin/env bash
# Makes first-build.db: a history as the first build (commit de5880c) kept it, in
# every kind of question, with chord symbols spelled in several ways.
#
#   first-build.sh PROGRAM FILE
#
# PROGRAM is footfall built from that commit. The answers are guesses, so that
# some are right and most are missed.
set -euo pipefail
program=$1 file=$2
data=$(mktemp -d)
trap 'rm -rf "$data"' EXIT

sevenths='Dm7 D-7 Dmin7 Dmi7 G7 Gdom7 Cmaj7 CM7 C^7 Bm7b5 Bø7 B-7b5 G#dim7 G#o7'
others='A7b9 A7(b9) F6 FM6 G13 G7(13) Cm Cmin C- E7#9 E7(#9)'
more='Bbm6 Bb-6 C6/9 C69 G7sus4 G7sus A+ Aaug D7#5 D+7 Ebm9 Eb-9'

# drill NAME QUESTIONS ANSWERS ARGUMENTS... answers one sitting.
drill() {
  local name=$1 questions=$2 answers=$3
  shift 3
  local list=($answers)
  for n in $(seq 300); do
    echo "${list[n * 7 % ${#list[@]}]//_/ }"
  done >"$data/answers"
  "$program" drill "$name" --plain --data "$data" --questions "$questions" --seed 9 --port none "$@" <"$data/answers" >/dev/null
}

frets='0 1 2 3 4 5 6 7 8 9 10 11 12'
degrees='1 b3 3 5 b7 7 b5 6 9 bb7 4'
notes='C Db D Eb E F F# G Ab A Bb B Gb'
drill find 50 "$frets" --chords "$sevenths"
for symbol in $others $more; do
  drill find 2 "$frets" --chords "$symbol"
done
drill find 20 "$frets" --tune lantern-street
drill name 40 "$degrees" --chords "$sevenths"
drill spell 25 "$notes" --chords "$more"
drill line 25 '6_6 5_3 5_5 6_3 5_8 6_1 5_1' --tune lantern-street
drill shape 25 '1 2 3 4 2 1 3' --tune lantern-street
for symbol in $sevenths $others; do
  drill shape 3 '4 1 2 1 1 2' --chords "$symbol"
  drill build 1 '3-x-3-4-3-x x-5-7-5-6-x' --chords "$symbol"
done
drill build 15 '3-x-3-4-3-x x-5-7-5-6-x 8-x-7-9-8-x x-3-5-4-5-x 5-x-5-5-5-x' --chords "$sevenths"
drill same 20 '1 2 3 4 3' --tune lantern-street
# A ladder waits for the player's word on the pass.
for verdict in yes no; do
  { sleep 9; echo "$verdict"; } | "$program" play lantern-street --section A --ramp 292:300+4,ladder3 --layer bass \
    --silent --plain --passes 1 --port none --data "$data" >/dev/null
done
# The third question about a shape comes on its second day: its answers are brought
# in, as the program exports them.
cat >"$data/more" <<'END'
{"version":1,
"sittings":[
{"id":"0190aaaa-0000-7000-8000-000000000001","began":"2026-11-28T18:00:00.000+01:00","last":"2026-11-28T18:05:00.000+01:00","drill":"shape","tune":"lantern-street"}
],
"answers":[
{"id":"0190aaaa-0000-7000-8000-000000000002","sitting":"0190aaaa-0000-7000-8000-000000000001","at":"2026-11-28T18:01:00.000+01:00","item":"shape:root-position m7 shape:a rootless maj9 with the third in the bass","way":"lines","verdict":"sure","grade":3,"took_ms":2100,"string":0,"fret":0,"given":"a rootless maj9 with the third in the bass"},
{"id":"0190aaaa-0000-7000-8000-000000000003","sitting":"0190aaaa-0000-7000-8000-000000000001","at":"2026-11-28T18:02:00.000+01:00","item":"shape:root-position m7 shape:11 and 9 lie outside the chord","way":"lines","verdict":"slow","grade":2,"took_ms":9800,"string":0,"fret":0,"given":"11 and 9 lie outside the chord"}
],
"takes":[
]}
END
"$program" log import "$data/more" --data "$data"
"$program" log backup "$file" --data "$data"

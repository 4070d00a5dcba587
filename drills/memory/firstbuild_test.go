package memory_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/drills/memory"
)

// The keys on the left are as the first build (commit de5880c) wrote them, the
// degrees as it sounded the shapes that it made the sentences of.
func TestUpgradeReadsTheFirstBuildsKeys(t *testing.T) {
	for old, want := range map[string]string{
		"find:m7:b7:D:5":                                                 "find:m7:b7:D:5",
		"find:-7:b7:D:5":                                                 "find:m7:b7:D:5",
		"find:min7:b7:D:5":                                               "find:m7:b7:D:5",
		"name:7(b9):b9:A:6":                                              "name:7b9:b9:A:6",
		"find:b9:b9:Bb:6":                                                "find:addb9:b9:Bb:6", // Bbb9
		"find:m/maj7:7:C:6":                                              "find:mMaj7:7:C:6",
		"find:6/9/E:6:C:6":                                               "find:6/9:6:C:6", // C6/9/E
		"find: (b5):b5:B:5":                                              "find:(b5):b5:B:5",
		"shape:use:7(b9):3:x 0 1 0 1 1":                                  "shape:use:7b9:3:x 0 1 0 1 1",
		"same:-7:D:1 b3 5":                                               "same:m7:D:1 b3 5",
		"shape:use:3 5 b7 9":                                             "shape:use:3 5 b7 9",
		"spell:b7:D":                                                     "spell:b7:D",
		"line:lantern-street:A:":                                         "line:lantern-street:A:",
		"passage:lantern-street:A:bass":                                  "passage:lantern-street:A:bass",
		"build:D-7 on string 6:b3 in the bass":                           "build:m7:b3:D:6",
		"build:F#m11 on string 5:1 in the bass":                          "build:m11:1:F#:5",
		"build:Ebb on string 5:6 in the bass":                            "build::6:Ebb:5",
		"same:3 b7 9 5 of G7:another root position":                      "same:7:G:3 b7 9 5",
		"same:3 7 9 5 of BbM7:another root position":                     "same:maj7:Bb:3 7 9 5",
		"shape:root-position m7b5 shape:3 b7 9 5":                        "shape:degrees:3 b7 9 5",
		"shape:root-position maj7 shape:itself":                          "shape:inversion:1 3 5 7",
		"shape:first-inversion minor triad shape:itself":                 "shape:inversion:b3 1 5",
		"shape:third-inversion 6 shape:itself":                           "shape:inversion:6 1 3 5",
		"shape:rootless 9 shape with the third in the bass:itself":       "shape:inversion:3 5 b7 9",
		"shape:major triad shape with 9 in the bass:itself":              "shape:inversion:9 1 3 5",
		"shape:root-position major triad with a flat fifth shape:itself": "shape:inversion:1 3 b5",
		"shape:root-position m7 shape:a rootless maj9 with the third in the bass":                  "shape:use:3 5 7 9",
		"shape:root-position m7b5 shape:a rootless 9 with the third in the bass":                   "shape:use:3 5 b7 9",
		"shape:first-inversion 9 shape:a 9 without 5 with the third in the bass":                   "shape:use:3 1 b7 9",
		"shape:first-inversion m7 shape:an m11 without 5 and 9 with the flat ninth in the bass":    "",
		"shape:root-position m7b5 shape:the whole chord in root position":                          "shape:use:1 b3 b5 b7",
		"shape:second-inversion minor triad shape:the whole chord with the fifth in the bass":      "shape:use:5 1 b3",
		"shape:second-inversion m7b5 shape:the whole chord with the fifth in the bass":             "shape:use:b5 1 b3 b7",
		"shape:root-position m7 shape:the whole chord with the sixth in the bass":                  "shape:use:6 1 3 5",
		"shape:root-position minor triad shape:the chord without its 5 with the sixth in the bass": "shape:use:6 1 3",
		"shape:root-position 7 shape:the chord without its 5":                                      "shape:use:1 3 b7",
		"shape:first-inversion m7 shape:the chord without its 5, the third in the bass":            "shape:use:b3 1 b7",
		"shape:root-position m7 shape:11 and 9 lie outside the chord":                              "shape:use:1 b3 5 b7 11 9",
	} {
		got, lend := memory.Upgrade(old)
		if want == "" {
			want = old
		}
		assert.Equal(t, want, got, old)
		it, err := memory.ParseKey(got)
		require.NoError(t, err)
		assert.Equal(t, lend, it.Degrees != "", old)
		if lend {
			assert.False(t, it.Known())
			assert.NotEmpty(t, it.Group(), "its answer times count")
		} else {
			assert.Equal(t, want != old || it.Known(), it.Known())
		}
	}
}

// What is written now, and what no build wrote, stays as it is.
func TestUpgradeTwiceChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		key := anyItem().Draw(t, "item").Key()
		got, lend := memory.Upgrade(key)
		require.Equal(t, key, got)
		require.False(t, lend)
	})
	rapid.Check(t, func(t *rapid.T) {
		key := rapid.StringMatching(`(find|name|shape|same|build|other)(:[ -~]*){0,5}`).Draw(t, "key")
		once, _ := memory.Upgrade(key)
		twice, _ := memory.Upgrade(once)
		require.Equal(t, once, twice)
	})
	for _, key := range []string{"", ":", "shape:hello shape:world", "build:H7 on string 6:1 in the bass", "build:G7 on string x:1 in the bass", "newkind:some:facts"} {
		got, lend := memory.Upgrade(key)
		assert.Equal(t, key, got)
		assert.False(t, lend)
	}
}

// A new shape finds the state of the first build's by the degrees it sounds
// (standard tuning).
func TestLenderHasTheSameDegrees(t *testing.T) {
	for key, want := range map[string]string{
		"shape:degrees:7:3:x 0 1 0 1 x":      "shape:degrees:3 b7 9 5",
		"shape:use:7:3:x 0 1 0 1 x":          "shape:use:3 5 b7 9",
		"shape:inversion:m7b5:1:x 0 1 0 1 x": "shape:inversion:1 b3 b5 b7",
		"shape:inversion:maj9:3:x 0 2 0 1 x": "shape:inversion:3 5 7 9",
		"shape:use:maj7:1:0 x 1 1 0 x":       "shape:use:1 3 5 7",
		"shape:degrees:m7:1:0 x 0 0 0 x":     "shape:degrees:1 b7 b3 5",
		"shape:use::6:0 x 0 0 0 x":           "shape:use:6 1 3 5",
		"same:7:3:G:x 0 1 0 1 x":             "same:7:G:3 b7 9 5",
		"shape:use:m7b5:b5:x 0 1 -1 2 x":     "shape:use:b5 1 b3 b7",
		"build:7:3:G:6":                      "",
		"find:m7:b7:D:5":                     "",
		"shape:degrees:7:3:x x 0 1 0 1 x":    "", // seven strings
		"shape:degrees:3 b7 9 5":             "",
		"newkind:some:facts":                 "",
	} {
		it, err := memory.ParseKey(key)
		require.NoError(t, err)
		old, ok := it.Lender()
		assert.Equal(t, want != "", ok, key)
		if ok {
			assert.Equal(t, want, old.Key())
			back, err := memory.ParseKey(old.Key())
			require.NoError(t, err)
			assert.Equal(t, old, back)
			assert.False(t, back.Known())
		}
	}
}

// The state of a first-build item goes to the first new item of its degrees, once.
func TestLendGivesAStateOnce(t *testing.T) {
	item := func(key string) memory.Item {
		it, err := memory.ParseKey(key)
		require.NoError(t, err)
		return it
	}
	old, learned := item("shape:use:3 5 b7 9"), memory.State{}.After(100, memory.Good)
	low, high := item("shape:use:7:3:0 x 0 0 -1 x"), item("shape:use:7:3:x 0 1 0 1 x")
	other := item("shape:degrees:7:3:x 0 1 0 1 x")
	for _, it := range []memory.Item{low, high} {
		lender, ok := it.Lender()
		require.True(t, ok)
		require.Equal(t, old, lender, it.Key())
	}
	known := map[memory.Item]memory.State{old: learned}
	lent := memory.Lend(known, []memory.Item{other, high, low})
	assert.Equal(t, map[memory.Item]memory.State{old: learned, high: learned}, lent)
	assert.Len(t, known, 1, "what is known is not changed")
	asked := memory.State{}.After(120, memory.Again)
	known = map[memory.Item]memory.State{old: learned, low: asked}
	assert.Equal(t, known, memory.Lend(known, []memory.Item{other, high, low}), "it was lent to the one that was asked")
	deck := memory.NewDeck([]memory.Item{other, high}, map[memory.Item]memory.State{old: learned}, 130, memory.Limits{})
	assert.Equal(t, learned, deck.State(high))
	assert.True(t, deck.State(other).New())
}

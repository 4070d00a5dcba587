package background

import (
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A long paste comes as several, each of whole characters, which say together what was
// pasted; what is typed before and after comes as it is.
func TestALongPasteComesInPieces(t *testing.T) {
	for name, line := range map[string]string{"a chart": "| C | G7 | \x1b[2J ~\r\n", "signs": "é♭", "signs of its end": "\x1b[20", "no text": "\xff\xfe"} {
		t.Run(name, func(t *testing.T) {
			text := strings.Repeat(line, 1<<20/len(line))
			r, w, err := os.Pipe()
			require.NoError(t, err)
			go func() {
				_, _ = io.WriteString(w, "ab"+pasteBegins+text+pasteEnds+"c\x1b[A")
				_ = w.Close()
			}()
			in := Listen(r, time.Now, func(bool) {})
			var all strings.Builder
			buf := make([]byte, 256)
			for {
				n, err := in.Read(buf)
				all.Write(buf[:n])
				if err != nil {
					break
				}
			}
			pieces := strings.Split(all.String(), pasteEnds+pasteBegins)
			assert.Equal(t, "ab"+pasteBegins+text+pasteEnds+"c\x1b[A", strings.Join(pieces, ""))
			if name != "signs of its end" && name != "no text" { // where nothing can be split
				assert.Greater(t, len(pieces), 20)
				for _, p := range pieces {
					assert.Less(t, len(p), 2*mostPasted)
				}
			}
			if name == "signs" {
				for _, p := range pieces {
					assert.Equal(t, p, strings.ToValidUTF8(p, "?"))
				}
			}
		})
	}
}

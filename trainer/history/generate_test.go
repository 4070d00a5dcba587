package history_test

import (
	"bufio"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"testing"

	"github.com/stretchr/testify/require"
	_ "modernc.org/sqlite"

	"footfall/trainer/history"
)

// importGenerated brings a player's answers, and 20 takes, into a store through
// the import, as one sitting.
func importGenerated(s *history.Store, p *player, answers int) error {
	r, w := io.Pipe()
	go func() {
		b := bufio.NewWriter(w)
		p.sitting = p.newID()
		began := p.at.Format("2006-01-02T15:04:05.000Z07:00")
		fmt.Fprintf(b, `{"version":1,"sittings":[{"id":%q,"began":%q,"last":%q,"drill":"find","tune":""}],"answers":[`, p.sitting, began, began)
		for i := range answers {
			if i > 0 {
				b.WriteByte(',')
			}
			writeAnswer(b, p.answer())
		}
		b.WriteString(`],"takes":[`)
		for i := range 20 {
			if i > 0 {
				b.WriteByte(',')
			}
			fmt.Fprintf(b, `{"id":%q,"sitting":%q,"at":%q,"item":"passage:lantern-street:A:bass","way":"midi","tempo":%d,"length_ms":20000,
				"expected":2,"matched":1,"missed":1,"clean":%t,"ramp":"","grade":%d,"events":[{"bar":1,"beat":1,"midi":46,"verdict":"matched","offset_us":-900},{"bar":1,"beat":2}]}`,
				p.newID(), p.sitting, began, 60+4*i, i%2 == 0, 1+2*(i%2))
		}
		b.WriteString(`]}`)
		w.CloseWithError(b.Flush())
	}()
	_, err := s.Import(ctx, r)
	r.CloseWithError(err)
	return err
}

func writeAnswer(b *bufio.Writer, a history.Answer) {
	grade := 3 - int(a.Verdict) // sure 3, slow 2, missed 1
	text, err := json.Marshal(map[string]any{
		"id": a.ID, "sitting": a.Sitting, "at": a.At.Format("2006-01-02T15:04:05.000Z07:00"), "item": a.Item.Key(),
		"way": a.Way.String(), "verdict": a.Verdict.String(), "grade": grade, "took_ms": a.Took.Milliseconds(),
		"string": a.Place.String, "fret": a.Place.Fret, "given": a.Given,
	})
	if err != nil {
		panic(err)
	}
	b.Write(text)
}

// spoil changes a history behind the program's back.
func spoil(t testing.TB, path, statement string) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+path+"?_pragma=busy_timeout(3000)")
	require.NoError(t, err)
	defer db.Close()
	_, err = db.Exec(statement)
	require.NoError(t, err)
}

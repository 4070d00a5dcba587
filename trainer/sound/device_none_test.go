//go:build !cgo

package sound

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Built without cgo, the same transport runs on the wall clock and says so.
func TestWithoutCgo(t *testing.T) {
	p, err := Open(clicks(4, fourFour, 300), Options{})
	require.NoError(t, err)
	defer p.Close()
	require.Eventually(t, func() bool { return p.Status() != "" }, 60*time.Second, time.Millisecond)
	assert.Equal(t, "No sound (this build was made without a C compiler): the click is seen, not heard. For sound: "+Remedy(errBuild)+".", p.Status())
	require.NoError(t, p.SetCourse(Course{}))
	require.NoError(t, p.Play())
	assert.Eventually(t, func() bool { return p.Now().Point.Bar == 2 }, 5*time.Second, 5*time.Millisecond)
}

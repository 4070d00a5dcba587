package command

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestTunerAndLevelInWords(t *testing.T) {
	assert.Equal(t, "in tune", inTune(-4.9))
	assert.Equal(t, "12 cents flat", inTune(-12.3))
	assert.Equal(t, "31 cents sharp", inTune(31))
	assert.Equal(t, "--------------------", bar(-120))
	assert.Equal(t, "==========----------", bar(-30))
	assert.Equal(t, "====================", bar(3))
}

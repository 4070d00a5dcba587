package sound

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The os-release files are cut from those of the systems, from memory; their form
// is os-release(5).
func TestEachSystemInstallsSoundItsOwnWay(t *testing.T) {
	for release, want := range map[string]string{
		"NAME=\"Debian GNU/Linux\"\nVERSION_ID=\"12\"\nID=debian\n": "sudo apt install pulseaudio",
		"ID=ubuntu\nID_LIKE=debian\n":                               "sudo apt install pulseaudio",
		"ID=linuxmint\nID_LIKE=\"ubuntu debian\"\n":                 "sudo apt install pulseaudio",
		"ID=\"rhel\"\nID_LIKE=\"fedora\"\n":                         "sudo dnf install pipewire-pulseaudio",
		"ID=\"opensuse-leap\"\nID_LIKE=\"suse opensuse\"\n":         "sudo zypper install pipewire-pulseaudio",
		"ID=arch\n":                         "sudo pacman -S pipewire-pulse",
		"VARIANT_ID=debian\nID=elsewhere\n": "install PulseAudio or PipeWire",
		"":                                  "install PulseAudio or PipeWire",
	} {
		assert.Equal(t, want, packagedOn("linux", release).server, release)
	}
	assert.Equal(t, "sudo apk add gcc musl-dev", packagedOn("linux", "ID=alpine\n").compiler)
	for _, system := range []string{"darwin", "windows", "freebsd"} {
		assert.Empty(t, packagedOn(system, "ID=debian\n").server, "has its own sound")
		assert.NotEmpty(t, packagedOn(system, "").compiler)
	}
}

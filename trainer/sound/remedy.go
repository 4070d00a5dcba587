package sound

import (
	"errors"
	"fmt"
	"os/exec"
	"regexp"
	"runtime"
	"strings"

	"footfall/trainer/gate"
)

var (
	// errNoDevice is the error of a system on which nothing can play or capture.
	errNoDevice = errors.New("there is no sound device")
	// errBuild is the error of a program that was built without a C compiler.
	errBuild = errors.New("this build was made without a C compiler")
	// errHangs is the error of a sound server that takes a call and does not answer.
	errHangs = errors.New("the sound server does not answer")
)

// packaged is how a system installs a sound server, and a C compiler to build the
// program with. Source: from memory.
type packaged struct{ server, compiler string }

// systems are Linux systems by the ID and ID_LIKE of os-release(5).
var systems = map[string]packaged{
	"debian": {"sudo apt install pulseaudio", "sudo apt install gcc libc6-dev"},
	"fedora": {"sudo dnf install pipewire-pulseaudio", "sudo dnf install gcc"},
	"arch":   {"sudo pacman -S pipewire-pulse", "sudo pacman -S gcc"},
	"suse":   {"sudo zypper install pipewire-pulseaudio", "sudo zypper install gcc"},
	"alpine": {"sudo apk add pulseaudio", "sudo apk add gcc musl-dev"},
}

var systemIDs = regexp.MustCompile(`(?m)^ID(?:_LIKE)?="?([^"\n]*)"?$`)

// packagedOn is how the system of a name of Go's and, on Linux, an os-release
// file does it. server is empty where every system has one.
func packagedOn(system, release string) packaged {
	switch system {
	case "linux":
		for _, ids := range systemIDs.FindAllStringSubmatch(release, -1) {
			for id := range strings.FieldsSeq(ids[1]) {
				if p, ok := systems[id]; ok {
					return p
				}
			}
		}
		return packaged{"install PulseAudio or PipeWire", "install gcc"}
	case "darwin":
		return packaged{compiler: "xcode-select --install"}
	case "windows":
		return packaged{compiler: "install gcc of MinGW-w64"}
	}
	return packaged{compiler: "install a C compiler"}
}

// Remedy is what would bring sound and microphones to this system after an error
// of this package, in a few words; "" where nothing that is installed would.
func Remedy(err error) string {
	release, _ := gate.Read("/etc/os-release", 1<<16) // without it the advice is general
	here := packagedOn(runtime.GOOS, string(release))
	switch {
	case errors.Is(err, errBuild):
		return here.compiler + ", then build it again"
	case !errors.Is(err, errNoDevice) || here.server == "":
		return ""
	case installed("pipewire-pulse"):
		return "systemctl --user start pipewire-pulse"
	case installed("pulseaudio"):
		return "pulseaudio --start"
	}
	return here.server
}

func installed(program string) bool {
	_, err := exec.LookPath(program)
	return err == nil
}

// noDevice says in a line why nothing is heard, and what to do about it.
func noDevice(err error) string {
	says := fmt.Sprintf("No sound (%v): the click is seen, not heard.", err)
	if remedy := Remedy(err); remedy != "" {
		says += " For sound: " + remedy + "."
	}
	return says
}

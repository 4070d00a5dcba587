//go:build cgo && linux && !android

package sound

// #cgo LDFLAGS: -ldl
// #include <dlfcn.h>
// #include <stddef.h>
// #include <stdlib.h>
//
// static void no_alsa(const char *file, int line, const char *function, int err, const char *format, ...) {}
// static void no_jack(const char *message) {}
//
// static void set(const char *library, const char *function, void *handler) {
//   void *lib = dlopen(library, RTLD_NOW);
//   if (lib == NULL) return;
//   void (*f)(void *) = (void (*)(void *))dlsym(lib, function);
//   if (f != NULL) f(handler);
// }
//
// static void quiet(void) {
//   setenv("PULSE_LOG_SYSLOG", "1", 1);
//   set("libasound.so.2", "snd_lib_error_set_handler", (void *)no_alsa);
//   set("libjack.so.0", "jack_set_error_function", (void *)no_jack);
//   set("libjack.so.0", "jack_set_info_function", (void *)no_jack);
// }
import "C"
import "sync"

// quietLibraries keeps the ALSA, JACK and PulseAudio libraries from writing their complaints
// over the screen; what matters comes back as an error.
var quietLibraries = sync.OnceFunc(func() { C.quiet() })

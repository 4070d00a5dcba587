//go:build cgo && linux && !android

package sound

// #cgo LDFLAGS: -ldl
// #include <dlfcn.h>
// #include <stddef.h>
//
// static void quiet(const char *file, int line, const char *function, int err, const char *format, ...) {}
//
// static void silence_alsa(void) {
//   void *lib = dlopen("libasound.so.2", RTLD_NOW);
//   if (lib == NULL) return;
//   int (*set)(void *) = (int (*)(void *))dlsym(lib, "snd_lib_error_set_handler");
//   if (set != NULL) set((void *)quiet);
// }
import "C"
import "sync"

// silenceALSA keeps the ALSA library from writing its complaints over the
// screen; what matters comes back as an error.
var silenceALSA = sync.OnceFunc(func() { C.silence_alsa() })

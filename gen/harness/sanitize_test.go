package harness

import (
	"cmp"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestSanitized runs the demo's harness with the firmware's C compiled such that it ends
// where it touches memory that is not its own or does what C leaves undefined
// (AddressSanitizer, UndefinedBehaviorSanitizer): events, edges, noise and stalls as the
// harness sends them, against the reference machine. SANITIZED is how many random
// events; ten million take some half an hour, and can be sent in parts, by seed:
//
//	SANITIZED=10000000 go test -v -timeout 0 -run TestSanitized ./gen/harness
//	SANITIZED=1000000 SEED=4 go test -v -timeout 0 -run TestSanitized ./gen/harness
func TestSanitized(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	need(t, "gcc")
	events, seed := cmp.Or(os.Getenv("SANITIZED"), "2000"), cmp.Or(os.Getenv("SEED"), "3")
	dir := write(t, demo(t))
	const flags = "-fsanitize=address,undefined"
	cmd := exec.Command("go", "test", "-v", "-timeout", "0", "-events", events, "-seed", seed, ".")
	cmd.Dir = filepath.Join(dir, Folder)
	cmd.Env = append(os.Environ(), "CGO_ENABLED=1", "GOFLAGS=", "GOWORK=off",
		"CGO_CFLAGS=-O1 -g "+flags+" -fno-sanitize-recover=undefined", "CGO_LDFLAGS="+flags,
		"ASAN_OPTIONS=detect_leaks=0") // what Go allocates is not known to it
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	require.Contains(t, string(out), "--- PASS: TestRandomEvents")
	t.Logf("%s random events of seed %s, and all else that the harness sends", events, seed)
}

// What the sanitizers are for is seen by them.
func TestSanitizersSee(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles much; the whole run does it")
	}
	need(t, "gcc")
	for _, wrong := range []string{
		"int a[4]; int i = argc + 3; a[i] = 1; return a[i];",
		"int n = 0x7FFFFFFF; n += argc; return n == 0;",
	} {
		dir := t.TempDir()
		source := filepath.Join(dir, "wrong.c")
		require.NoError(t, os.WriteFile(source, []byte("int main(int argc, char **argv) { (void)argv; "+wrong+" }\n"), 0o600))
		out, err := exec.Command("gcc", "-O1", "-g", "-fsanitize=address,undefined", "-fno-sanitize-recover=undefined", source, "-o", filepath.Join(dir, "wrong")).CombinedOutput()
		require.NoError(t, err, string(out))
		require.Error(t, exec.Command(filepath.Join(dir, "wrong")).Run(), wrong)
	}
}

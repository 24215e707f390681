//go:build unix

package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"propwright/gen/avr"
)

// A build that is ended while it compiles leaves the files that it has written, and
// nothing in the folder for temporary ones.
func TestEndedBuildLeavesNothing(t *testing.T) {
	if _, err := avr.Find(); err != nil {
		t.Skip(err)
	}
	for _, end := range []os.Signal{os.Interrupt, syscall.SIGTERM} {
		t.Run(end.String(), func(t *testing.T) {
			dir, tmp, tools := t.TempDir(), t.TempDir(), t.TempDir()
			for _, name := range []string{"avr-gcc", "avr-g++", "avr-gcc-ar"} {
				require.NoError(t, os.WriteFile(filepath.Join(tools, name), []byte("#!/bin/sh\n: >"+tools+"/began\nexec sleep 600\n"), 0o777))
			}
			build := exec.Command(os.Args[0])
			build.Args, build.Dir = []string{"propwright", "build"}, dir
			build.Env = append(os.Environ(), "TMPDIR="+tmp, "PATH="+tools+":"+os.Getenv("PATH"))
			said := &bytes.Buffer{}
			build.Stdout, build.Stderr = said, said
			require.NoError(t, build.Start())
			defer build.Process.Kill()
			require.Eventually(t, func() bool {
				_, err := os.Stat(filepath.Join(tools, "began"))
				return err == nil
			}, time.Minute, 10*time.Millisecond)
			made, _ := filepath.Glob(filepath.Join(tmp, "propwright-*"))
			require.Len(t, made, 1)
			require.NoError(t, build.Process.Signal(end))
			assert.Error(t, build.Wait())
			assert.Equal(t, exitCall, build.ProcessState.ExitCode(), said)
			assert.Equal(t, "propwright: interrupted\n", said.String())
			left, err := os.ReadDir(tmp)
			require.NoError(t, err)
			assert.Empty(t, left)
			assert.FileExists(t, filepath.Join(dir, "out", "harbour_heron", "machine.c"))
		})
	}
}

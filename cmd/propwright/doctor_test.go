package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whatever is missing, doctor says how to get it and what cannot be done without.
func TestDoctorWithoutTools(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	t.Setenv("LC_ALL", "C")
	code, out, errs := call("doctor")
	require.Equal(t, exitFine, code, errs)
	for _, said := range []string{
		"missing  characters     LC_ALL=C is not UTF-8; set it to C.UTF-8",
		"avr-gcc, avr-g++, avr-gcc-ar not found; install the packages gcc-avr, avr-libc and arduino-core-avr",
		"avrdude not found; install the package avrdude",
		"go not found; install the package golang",
		"git not found; install the package git",
	} {
		assert.Contains(t, out, said)
	}
	assert.Equal(t, strings.Count(out, "missing  "), strings.Count(out, "without: "))
	for _, line := range strings.Split(out, "\n") {
		assert.LessOrEqual(t, len([]rune(line)), 125, line)
	}
}

func TestDoctorFindsTools(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("PATH", dir)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "git"), []byte("#!/bin/sh\n"), 0o777))
	t.Setenv("LC_ALL", "")
	t.Setenv("LC_CTYPE", "nb_NO.utf8")
	_, out, _ := call("doctor")
	assert.Contains(t, out, "found    git            "+filepath.Join(dir, "git"))
	assert.Contains(t, out, "found    characters     LC_CTYPE=nb_NO.utf8")
}

// A command that is built from a commit says which.
func TestVersion(t *testing.T) {
	code, out, _ := call("version")
	assert.Equal(t, exitFine, code)
	assert.Regexp(t, `^propwright \S+\ncommit .*\ngo\S+ for \w+/\w+\ndesign files of format 1\n$`, out)
	_, flag, _ := call("--version")
	assert.Equal(t, out, flag)

	if testing.Short() {
		return // it takes a build
	}
	dir, repo := t.TempDir(), t.TempDir()
	for _, args := range [][]string{
		{"git", "clone", "-q", "--no-local", "../..", repo},
		{"go", "build", "-C", repo, "-buildvcs=true", "-o", filepath.Join(dir, "propwright"), "./cmd/propwright"},
	} {
		said, err := exec.Command(args[0], args[1:]...).CombinedOutput()
		require.NoError(t, err, "%s", said)
	}
	commit, err := exec.Command("git", "-C", repo, "rev-parse", "HEAD").Output()
	require.NoError(t, err)
	said, err := exec.Command(filepath.Join(dir, "propwright"), "version").Output()
	require.NoError(t, err)
	assert.Contains(t, string(said), "commit "+strings.TrimSpace(string(commit)))
}

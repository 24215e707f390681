package main

import (
	"os"
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
		"gcc not found; install the package gcc",
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

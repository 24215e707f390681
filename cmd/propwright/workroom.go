package main

import (
	"context"
	"errors"
	"os"
	"os/signal"
	"syscall"
)

var errInterrupted = errors.New("interrupted")

// workroom makes a folder for what a command needs on its way only. leave removes it. So
// that it comes to that, the user's or the system's wish to end the command ends the
// context until then, not the command.
func workroom(parent context.Context) (dir string, ctx context.Context, leave func(), err error) {
	if dir, err = os.MkdirTemp("", "propwright-"); err != nil {
		return "", nil, nil, err
	}
	ctx, stop := signal.NotifyContext(parent, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	return dir, ctx, func() {
		os.RemoveAll(dir)
		stop()
	}, nil
}

//go:build !linux && !darwin

package simbench

func newPTYSocket(string) (socket, error) { return nil, ErrNoPTY }

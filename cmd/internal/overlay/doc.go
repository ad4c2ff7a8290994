// Package overlay turns a Result into what a person reads: neutral layers for
// the map files ([Layers]), the brief ([Brief]) and the ten-line answer
// ([Answer]). It reads job.Result and computes nothing but words, so that all
// outputs say the same.
package overlay

"""The record of a build's figures."""

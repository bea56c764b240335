"""Lampwright: battery-powered set pieces of addressable pixel strip, from brief to rehearsed firmware."""

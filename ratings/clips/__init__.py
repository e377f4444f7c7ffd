"""Clips out: cut, equalised, looped, written without a trace."""

"""The evening plan: what tomorrow asks for, and what to do about it tonight."""

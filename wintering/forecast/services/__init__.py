"""Raising and clearing flags."""

from wintering.forecast.services.judging import judge_frame, judge_frames

__all__ = ["judge_frame", "judge_frames"]

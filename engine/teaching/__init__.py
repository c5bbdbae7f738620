"""Misconceptions, questions, quizzes on screen and paper, and what wrong answers tell."""

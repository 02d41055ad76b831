from django.urls import path

from equipment.pages.signing_in import own, people, person, second, views

urlpatterns = [
    path("sign-in/", views.SignInPage.as_view(), name="login"),
    path("sign-in/pin/", views.by_pin, name="login_pin"),
    path("sign-in/code/", second.by_code, name="login_code"),
    path("me/code/", second.my_code, name="me_code"),
    path("me/code.svg", second.my_code_picture, name="me_code_picture"),
    path("me/password/", own.my_password, name="me_password"),
    path("me/pin/", own.my_pin, name="me_pin"),
    path("users/", people.users, name="users"),
    path("users/new/", person.new_user, name="user_new"),
    path("users/<int:pk>/", person.user, name="user"),
    path("users/<int:pk>/password/", person.starting_password, name="user_password"),
    path("users/<int:pk>/end/", people.end_sessions, name="user_end"),
    path("users/<int:pk>/disable/", people.disable_user, name="user_disable"),
    path("users/<int:pk>/code/", people.forget_code, name="user_forget_code"),
    path("users/<int:pk>/enable/", people.enable_user, name="user_enable"),
]
